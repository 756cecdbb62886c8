"""``pullcall pair`` with a daemon that serves phones over TLS, each in a process of its own."""

from __future__ import annotations

import asyncio
import os
import re
import ssl
from asyncio.subprocess import PIPE
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

import httpx
import pytest
import websockets
from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding

from tests.integration.daemon import HANGS_S, PULLCALL, free_pair, told_to_stop
from tests.process import running

pytestmark = pytest.mark.integration

#: Under this name even this machine is a stranger to its daemon.
NAME = "pullcall.local"


class Place:
    """A running daemon, its ports, and the authority that a phone was told to trust."""

    def __init__(self, port: int, state: Path) -> None:
        self.port = port
        self.environment = {"XDG_STATE_HOME": str(state), "XDG_CONFIG_HOME": str(state)}

    async def pullcall(self, *arguments: str) -> str:
        """What a command prints; it must do its work."""
        environment = os.environ | self.environment
        async with (
            running(PULLCALL, *arguments, env=environment, stdout=PIPE, stderr=PIPE) as process,
            asyncio.timeout(HANGS_S),
        ):
            out, err = await process.communicate()
        assert process.returncode == 0, err.decode()
        return out.decode()

    async def pair(self, *arguments: str) -> str:
        return await self.pullcall("pair", "--port", str(self.port + 1), *arguments)

    async def trusted(self) -> ssl.SSLContext:
        """What a phone does that trusts the authority after comparing its fingerprint."""
        async with httpx.AsyncClient(headers={"Host": f"{NAME}:{self.port + 1}"}) as client:
            answer = await client.get(f"http://127.0.0.1:{self.port + 1}/authority.crt")
        assert answer.headers["content-type"] == "application/x-x509-ca-cert"
        authority = x509.load_der_x509_certificate(answer.content)
        return ssl.create_default_context(cadata=authority.public_bytes(Encoding.PEM).decode())

    @asynccontextmanager
    async def phone(self) -> AsyncIterator[httpx.AsyncClient]:
        """A client that reaches the daemon by its announced name."""
        async with httpx.AsyncClient(
            base_url=f"https://127.0.0.1:{self.port}/api/v1/",
            headers={"Host": f"{NAME}:{self.port}"},
            verify=await self.trusted(),
        ) as client:
            yield client


@pytest.fixture
async def place(tmp_path: Path) -> AsyncIterator[Place]:
    place = Place(free_pair(), tmp_path)
    command = (PULLCALL, "demo", "--host", "0.0.0.0", "--port", str(place.port))
    environment = os.environ | place.environment | {"PYTHONUNBUFFERED": "1"}
    async with running(*command, env=environment, stdout=PIPE) as process:
        assert process.stdout is not None
        said = ""
        async with asyncio.timeout(HANGS_S):
            while "Ctrl-C" not in said:
                said += (line := (await process.stdout.readline()).decode())
                assert line, f"the demo ended: {said}"
        assert "pullcall pair" in said, "secrets are not written where a journal would keep them"
        assert not re.search(r"#k=|\d{4} \d{4}$", said, re.MULTILINE)
        yield place
        await told_to_stop(process)


async def test_a_phone_is_paired_by_the_code_marks_and_is_revoked(place: Place) -> None:
    printed = await place.pair("--role", "hand")
    code = re.search(r"type (\d{4} \d{4})", printed)
    assert code
    assert "█" in printed or "▀" in printed or "\x1b[" in printed, "the QR is shown"
    async with place.phone() as phone:
        assert (await phone.get("snapshot")).status_code == 401
        body = {"code": code[1].replace(" ", ""), "name": "Android phone"}
        assert (await phone.post("pairings", json=body)).json()["role"] == "hand"
        assert (await phone.post("marks", json={"mark": "lid_open"})).status_code == 201
        listed = await place.pair("--list")
        row = re.search(r"^(\w+)\s+Android phone\s+hand", listed, re.MULTILINE)
        assert row
        assert "Revoked" in await place.pair("--revoke", row[1])
        assert (await phone.get("snapshot")).status_code == 401


async def test_a_watchers_link_opens_a_stream_by_ticket(place: Place) -> None:
    printed = await place.pair("--role", "watcher", "--hide-targets")
    link = re.search(r"Link to share: (\S+)#k=(\S+)", printed)
    assert link
    async with place.phone() as phone:
        await phone.post("pairings", json={"secret": link[2]})
        ticket = (await phone.post("tickets")).json()["ticket"]
        assert (await phone.post("marks", json={"mark": "lid_open"})).status_code == 403
    async with websockets.connect(
        f"wss://{NAME}:{place.port}/api/v1/stream",
        host="127.0.0.1",
        port=place.port,
        ssl=await place.trusted(),
        subprotocols=[
            websockets.Subprotocol("pullcall.1"),
            websockets.Subprotocol(f"ticket.{ticket}"),
        ],
        origin=websockets.Origin(f"https://{NAME}:{place.port}"),
    ) as socket:
        assert '"hello"' in str(await asyncio.wait_for(socket.recv(), HANGS_S))
        snapshot = str(await asyncio.wait_for(socket.recv(), HANGS_S))
        assert "pull_c" not in snapshot
    with pytest.raises(websockets.InvalidStatus):
        await websockets.connect(
            f"wss://{NAME}:{place.port}/api/v1/stream",
            host="127.0.0.1",
            port=place.port,
            ssl=await place.trusted(),
            subprotocols=[websockets.Subprotocol(f"ticket.{ticket}")],
        )


async def test_plain_http_leads_strangers_to_the_certificate_only(place: Place) -> None:
    plain = f"http://127.0.0.1:{place.port + 1}"
    host = {"Host": f"{NAME}:{place.port + 1}"}
    async with httpx.AsyncClient(base_url=plain, headers=host) as client:
        assert "fingerprint" in (await client.get("/")).text.lower()
        answer = await client.post("/api/v1/marks", json={"mark": "lid_open"})
        assert answer.status_code == 307
        assert answer.headers["location"] == f"https://{NAME}:{place.port}/"
    async with httpx.AsyncClient(base_url=plain) as here:
        assert (await here.get("/api/v1/visitor")).json()["here"] is True
