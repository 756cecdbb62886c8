"""A crowd watches, and worse: what a paired cook's phone gets meanwhile, and what it all costs.

The daemon is a process, each crowd another (:mod:`tests.bench.crowd_client`). The cook's phone is
paired, over TLS, and measures from the second that a message is of to its arrival: forecasts and
calls are made by the one loop that must never be late.
"""

from __future__ import annotations

import asyncio
import json
import os
import ssl
import sys
import tempfile
import time
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import httpx
import numpy as np
import websockets

from tests.bench.crowd_client import trusting
from tests.bench.process_cost import cpu_seconds, load, resident_mb
from tests.integration.daemon import Daemon, daemon, free_pair

Json = dict[str, Any]
NAME = "pullcall.local"
WATCHERS = (0, 100, 300, 1000)
#: How long each crowd is watched, seconds; ``CROWD_S`` says otherwise.
LASTS_S = float(os.environ.get("CROWD_S", "30"))
#: The crowd has come by several links.
_LINKS = 4
#: Messages that are of a whole second of the cook.
_TIMED = frozenset({"forecast", "call"})
#: Kinds of bad guests, how many of each, whether all come from one address.
FOES: tuple[tuple[str, int, bool], ...] = (
    ("never_read", 60, False),
    ("events", 60, False),
    ("silent", 300, True),
    ("half_hello", 300, True),
    ("drips", 120, True),
    ("reconnects", 1, True),
    ("greedy", 1, True),
    ("asks", 64, True),
    ("asks_paired", 64, False),
)


@dataclass
class Phone:
    """The cook's phone: how late what it hears is, and how long its taps take, seconds."""

    zero: float = 0.0
    delays: list[float] = field(default_factory=list)
    taps: list[float] = field(default_factory=list)
    ends: int = 0

    def words(self) -> str:
        return f"calls {_percentiles(self.delays)}, taps {_percentiles(self.taps)}"


def _percentiles(seconds: list[float]) -> str:
    if not seconds:
        return "none"
    p50, p99, most = np.percentile(np.array(seconds) * 1000.0, [50, 99, 100])
    return f"p50 {p50:.1f} p99 {p99:.1f} most {most:.0f} ms ({len(seconds)})"


async def measure() -> str:
    """A line for each crowd."""
    wanted = os.environ.get("CROWD", "").split()
    lines = [f"cook's phone over TLS, {LASTS_S:g} s each, {load()}"]
    print(lines[0])
    for count in WATCHERS:
        if not wanted or f"watchers{count}" in wanted:
            lines.append(await _one(f"{count} watchers", "watchers", count, False))
            print(lines[-1], flush=True)
    for kind, count, one_address in FOES:
        if not wanted or kind in wanted:
            lines.append(await _one(f"{count} {kind}", kind, count, one_address))
            print(lines[-1], flush=True)
    return "done"


async def _one(words: str, kind: str, count: int, one_address: bool) -> str:
    port = free_pair()
    with tempfile.TemporaryDirectory() as folder:
        os.environ["XDG_STATE_HOME"] = folder
        arguments = ("demo", "--speed", "1", "--seed", "7", "--host", "0.0.0.0")
        async with daemon(*arguments, "--log", f"{folder}/cooks.db", port=port) as site:
            site.url = f"http://127.0.0.1:{port + 1}/api/v1"
            async with _phone(site, port) as phone:
                return await _with_crowd(words, kind, count, one_address, site, port, phone)


async def _with_crowd(
    words: str, kind: str, count: int, one_address: bool, site: Daemon, port: int, phone: Phone
) -> str:
    secrets = [await _link(site) for _ in range(_LINKS)]
    crowd = {"kind": kind, "port": port, "name": NAME, "count": count, "secrets": secrets}
    command = json.dumps(crowd | {"one_address": one_address})
    process = await asyncio.create_subprocess_exec(
        sys.executable, "-m", "tests.bench.crowd_client", command,
        stdin=asyncio.subprocess.PIPE, stdout=asyncio.subprocess.PIPE, limit=10**6,
    )  # fmt: skip
    try:
        assert process.stdout and process.stdin
        pid = site.process.pid
        began, cpu = time.monotonic(), cpu_seconds(pid)
        phone.delays.clear()
        here = (await process.stdout.readline()).decode().strip()
        coming, came_s = _percentiles(phone.delays), time.monotonic() - began
        came = f"{came_s:.1f} s, {cpu_seconds(pid) - cpu:.1f} s of CPU"
        phone.delays.clear()
        phone.taps.clear()
        cpu, mine = cpu_seconds(pid), cpu_seconds(process.pid)
        began = time.monotonic()
        await asyncio.sleep(LASTS_S)
        lasted = time.monotonic() - began
        cpu, mine = (cpu_seconds(pid) - cpu) / lasted, (cpu_seconds(process.pid) - mine) / lasted
        memory = resident_mb(pid)
        process.stdin.write(b"\n")
        await process.stdin.drain()
        found = json.loads(await process.stdout.readline())
        return (
            f"{words}: {phone.words()}; while they came ({came}) {coming}; "
            f"CPU {cpu:.0%}, {memory:.0f} MB, {here}, left {found['left']}, "
            f"{found['bytes'] / lasted / 1000:.0f} kB/s, {found['ends']}, crowd's CPU {mine:.0%}, "
            f"phone cut {phone.ends}, {_files(pid)} files open"
        )
    finally:
        with suppress(ProcessLookupError):
            process.kill()
        await process.wait()


def _files(pid: int) -> int:
    return sum(1 for _ in Path(f"/proc/{pid}/fd").iterdir())


async def _link(site: Daemon) -> str:
    """The secret of a new watchers' link."""
    invited = await site.post("invitations", role="watcher", label="crowd")
    secret: str = invited["links"][0].partition("#k=")[2]
    return secret


@asynccontextmanager
async def _phone(site: Daemon, port: int) -> AsyncIterator[Phone]:
    """A paired cook's phone for a block's length."""
    invited = await site.post("invitations", role="cook", label="")
    secret = invited["links"][0].partition("#k=")[2]
    phone = Phone()
    headers = {"Host": f"{NAME}:{port}"}
    async with httpx.AsyncClient(
        base_url=f"https://127.0.0.1:{port}/api/v1", verify=trusting(), headers=headers, timeout=30
    ) as client:
        answer = await client.post("/pairings", json={"secret": secret, "name": "Cook"})
        answer.raise_for_status()
        cookie = answer.headers["set-cookie"].split(";")[0]
        client.headers["Cookie"] = cookie
        tasks = [
            asyncio.create_task(_listen(phone, client, port, cookie)),
            asyncio.create_task(_tap(phone, client)),
        ]
        try:
            async with asyncio.timeout(60):
                while len(phone.delays) < 3:  # noqa: ASYNC110
                    await asyncio.sleep(0.1)
            yield phone
        finally:
            for task in tasks:
                task.cancel()
            await asyncio.gather(*tasks, return_exceptions=True)


async def _listen(phone: Phone, client: httpx.AsyncClient, port: int, cookie: str) -> None:
    context: ssl.SSLContext = trusting()
    while True:
        ticket = (await client.post("/tickets")).json()["ticket"]
        try:
            async with websockets.connect(
                f"wss://{NAME}:{port}/api/v1/stream",
                host="127.0.0.1",
                ssl=context,
                additional_headers={"Cookie": cookie},
                subprotocols=["pullcall.1", f"ticket.{ticket}"],  # type: ignore[list-item]
                max_size=None,
                ping_interval=None,
            ) as socket:
                await _hear(phone, socket)
        except (OSError, websockets.WebSocketException):
            phone.ends += 1
            await asyncio.sleep(0.5)


async def _hear(phone: Phone, socket: websockets.ClientConnection) -> None:
    if not phone.zero:
        phone.zero = await _zero(socket)
    async for line in socket:
        now = time.monotonic()
        message = json.loads(line)
        if message["type"] in _TIMED:
            phone.delays.append(now - phone.zero - message["t"])


async def _zero(socket: websockets.ClientConnection) -> float:
    """The cook's zero on this machine's monotonic clock, by the quickest of some round trips."""
    trips: list[tuple[float, float]] = []
    for n in range(20):
        sent = time.monotonic()
        await socket.send(json.dumps({"type": "ping", "n": n}))
        while (message := json.loads(await socket.recv()))["type"] != "pong":
            pass
        trips.append((time.monotonic() - sent, (time.monotonic() + sent) / 2 - message["t"]))
    return min(trips)[1]


async def _tap(phone: Phone, client: httpx.AsyncClient) -> None:
    """What a page says twice a second: most of a tap without its log."""
    while True:
        sent = time.monotonic()
        try:
            answer = await client.post("/phones", json={"phone": "bench", "armed": True})
            if answer.is_success:
                phone.taps.append(time.monotonic() - sent)
        except httpx.HTTPError:
            pass
        await asyncio.sleep(0.5)
