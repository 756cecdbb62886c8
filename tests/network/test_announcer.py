"""The page's name on the network: found by others, given up in time, never anybody's trouble.

The announcements really go by multicast, over the loopback interface. The other side that looks
for services is zeroconf too; names are asked for by hand, byte by byte (RFC 1035 and 6762).
"""

from __future__ import annotations

import asyncio
import contextlib
import logging
import socket
import struct
from collections.abc import AsyncIterator, Awaitable, Callable, Iterator
from contextlib import asynccontextmanager
from ipaddress import ip_address
from typing import Any, ClassVar
from uuid import uuid4

import pytest
from zeroconf import ServiceListener, Zeroconf
from zeroconf.asyncio import AsyncServiceInfo, AsyncZeroconf

from pullcall.network.addresses import Address
from pullcall.network.announcer import LISTEN_MS as PATIENT_MS
from pullcall.network.announcer import LOOK_S, Announcer, open_network
from pullcall.supervision import Edges, Part
from tests.set_clock import SetClock

# All of them speak in the same room.
pytestmark = pytest.mark.xdist_group("mdns")

HERE = (ip_address("127.0.0.1"),)
DEADLINE_S = 60.0
ANSWER_MS = 5000
#: Long enough to hear nothing where nobody has the name.
LISTEN_MS = 200
A, IN = 1, 1


class Ear(ServiceListener):
    """Notes the web services of this test that come and go: others may run on this machine."""

    host: ClassVar[str] = ""

    def __init__(self) -> None:
        self.came: asyncio.Queue[str] = asyncio.Queue()
        self.went: asyncio.Queue[str] = asyncio.Queue()

    def add_service(self, zc: Zeroconf, type_: str, name: str) -> None:
        if self.host in name:
            self.came.put_nowait(name)

    def remove_service(self, zc: Zeroconf, type_: str, name: str) -> None:
        if self.host in name:
            self.went.put_nowait(name)

    def update_service(self, zc: Zeroconf, type_: str, name: str) -> None:
        """Its text changed: nothing here reads that."""


class Phone:
    """Another machine on the network, which looks for pages."""

    def __init__(self, network: AsyncZeroconf) -> None:
        self.network = network
        self.ear = Ear()

    async def service(self, kind: str = "_https._tcp.local.") -> AsyncServiceInfo:
        """The next page that is announced."""
        async with asyncio.timeout(DEADLINE_S):
            name = await self.ear.came.get()
        info = await self.network.async_get_service_info(kind, name, ANSWER_MS)
        assert info is not None
        return info

    async def gone(self) -> str:
        async with asyncio.timeout(DEADLINE_S):
            return await self.ear.went.get()


async def addresses_of(name: str) -> set[str]:
    """The IPv4 addresses of a name, asked for as a phone's simplest resolver does.

    A question from a port of one's own is answered to that port alone (RFC 6762 section 6.7).
    """
    question = b"".join(bytes([len(part)]) + part.encode() for part in name.split(".")) + b"\0"
    header = struct.pack("!6H", 0x5117, 0, 1, 0, 0, 0)
    loop = asyncio.get_running_loop()
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asker:
        asker.setblocking(False)
        asker.bind(("127.0.0.1", 0))
        here = socket.inet_aton("127.0.0.1")
        asker.setsockopt(socket.IPPROTO_IP, socket.IP_MULTICAST_IF, here)
        packet = header + question + struct.pack("!2H", A, IN)
        await loop.sock_sendto(asker, packet, ("224.0.0.251", 5353))
        async with asyncio.timeout(DEADLINE_S):
            answer = await loop.sock_recv(asker, 9000)
    number, _, questions, answers = struct.unpack("!4H", answer[:8])
    assert number == 0x5117
    return set(_a_records(answer, questions, answers))


def _a_records(packet: bytes, questions: int, answers: int) -> Iterator[str]:
    at = 12
    for _ in range(questions):
        at = _after_name(packet, at) + 4
    for _ in range(answers):
        at = _after_name(packet, at)
        kind, _, _, length = struct.unpack("!HHIH", packet[at : at + 10])
        if kind == A:
            yield socket.inet_ntoa(packet[at + 10 : at + 14])
        at += 10 + length


def _after_name(packet: bytes, at: int) -> int:
    while packet[at]:
        if packet[at] >= 0xC0:  # a pointer to where the name stood before
            return at + 2
        at += 1 + packet[at]
    return at + 1


@asynccontextmanager
async def phone(kind: str = "_https._tcp.local.") -> AsyncIterator[Phone]:
    network = open_network(HERE)
    here = Phone(network)
    await network.async_add_service_listener(kind, here.ear)
    try:
        yield here
    finally:
        await network.async_close()


@asynccontextmanager
async def running(announcer: Announcer, clock: SetClock) -> AsyncIterator[Edges]:
    """Kept going as the part of a site is."""
    edges = Edges(clock)
    task = asyncio.create_task(edges.keep(Part("announcement", announcer.run)))
    try:
        yield edges
    finally:
        task.cancel()
        with contextlib.suppress(asyncio.CancelledError):
            await task


@asynccontextmanager
async def another_machine(name: str, address: str) -> AsyncIterator[None]:
    network = open_network(HERE)
    kind = "_http._tcp.local."
    info = AsyncServiceInfo(
        kind, f"{name}.{kind}", 80, server=f"{name}.local.", addresses=[socket.inet_aton(address)]
    )
    await (await network.async_register_service(info))
    try:
        yield
    finally:
        await network.async_close()


def announcer(
    name: str,
    clock: SetClock,
    addresses: Callable[[], tuple[Address, ...]] = lambda: HERE,
    *,
    listen_ms: int = LISTEN_MS,
    is_secure: bool = True,
    open_network: Callable[[tuple[Address, ...]], AsyncZeroconf] = open_network,
) -> Announcer:
    return Announcer(
        name,
        8317,
        clock,
        addresses=addresses,
        listen_ms=listen_ms,
        is_secure=is_secure,
        open_network=open_network,
    )


@pytest.fixture
def name() -> str:
    return f"pit-{uuid4().hex[:12]}"


@pytest.fixture(autouse=True)
def own_host(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """This machine has another name in each test, so that none hears another's announcements."""
    host = name.removesuffix(".local")
    monkeypatch.setattr("pullcall.network.announcer.host_name", lambda: host)
    monkeypatch.setattr(Ear, "host", host)


@pytest.fixture
def clock() -> SetClock:
    return SetClock()


def complaints(caplog: pytest.LogCaptureFixture) -> list[str]:
    return [r.getMessage() for r in caplog.records if r.levelno >= logging.WARNING]


async def test_a_phone_finds_the_page_by_its_name(name: str, clock: SetClock) -> None:
    async with phone() as here, running(announcer(name, clock), clock):
        info = await here.service()
        assert info.port == 8317
        assert info.server == f"{name}.local."
        assert info.name.startswith(f"Pullcall on {name.removesuffix('.local')}")
        assert await addresses_of(f"{name}.local") == {"127.0.0.1"}


async def test_a_plain_page_is_announced_as_one(name: str, clock: SetClock) -> None:
    async with (
        phone("_http._tcp.local.") as here,
        running(announcer(name, clock, is_secure=False), clock),
    ):
        assert (await here.service("_http._tcp.local.")).server == f"{name}.local."


async def test_stopping_takes_the_announcement_back(name: str, clock: SetClock) -> None:
    async with phone() as here:
        async with running(announcer(name, clock), clock):
            announced = (await here.service()).name
        assert await here.gone() == announced


async def test_new_addresses_are_announced_and_the_old_ones_taken_back(
    name: str, clock: SetClock
) -> None:
    addresses: list[Address] = [ip_address("127.0.0.1")]
    moving = announcer(
        name, clock, lambda: tuple(addresses), open_network=lambda _: open_network(HERE)
    )
    async with phone() as here, running(moving, clock):
        await here.service()
        addresses.append(ip_address("127.0.0.7"))
        await clock.someone_waits()
        await clock.pass_by(LOOK_S)
        await here.gone()
        await here.service()
        assert await addresses_of(f"{name}.local") == {"127.0.0.1", "127.0.0.7"}


async def test_a_machine_off_every_network_waits_for_one(name: str, clock: SetClock) -> None:
    addresses: list[Address] = []
    async with phone() as here, running(announcer(name, clock, lambda: tuple(addresses)), clock):
        await clock.someone_waits()
        await clock.pass_by(LOOK_S)
        assert here.ear.came.empty()
        addresses += HERE
        await clock.pass_by(LOOK_S)
        assert (await here.service()).server == f"{name}.local."


async def test_a_name_that_a_rival_has_is_left_to_them_until_they_go(
    name: str, clock: SetClock, caplog: pytest.LogCaptureFixture
) -> None:
    async with phone() as here, running_beside_rival(name, clock) as rival_goes:
        await clock.pass_by(1.0)
        assert here.ear.came.empty()
        assert len(complaints(caplog)) == 1
        assert "give this one another name in [page]" in complaints(caplog)[0]
        await rival_goes()
        await clock.pass_by(2.0)
        assert (await here.service()).server == f"{name}.local."


@asynccontextmanager
async def running_beside_rival(name: str, clock: SetClock) -> AsyncIterator[Any]:
    rival = another_machine(name, "127.0.0.9")
    await rival.__aenter__()
    async with running(announcer(name, clock, listen_ms=PATIENT_MS), clock):
        await clock.someone_waits()
        yield lambda: rival.__aexit__(None, None, None)


async def test_another_responder_of_this_machine_is_no_rival(
    name: str, clock: SetClock, caplog: pytest.LogCaptureFixture
) -> None:
    async with (
        phone() as here,
        another_machine(name, "127.0.0.1"),
        running(announcer(name, clock, listen_ms=PATIENT_MS), clock),
    ):
        assert (await here.service()).server == f"{name}.local."
    assert complaints(caplog) == []


async def test_trouble_is_told_once_and_tried_again_ever_later(
    name: str, clock: SetClock, caplog: pytest.LogCaptureFixture
) -> None:
    refusals = [OSError("no such device")] * 4

    def open_at_last(addresses: tuple[Address, ...]) -> AsyncZeroconf:
        if refusals:
            raise refusals.pop()
        return open_network(addresses)

    refused = announcer(name, clock, open_network=open_at_last)
    async with phone() as here, running(refused, clock) as edges:
        await clock.someone_waits()
        for waited in (1.0, 2.0, 4.0):
            await clock.pass_by(waited)
        assert clock.waits == [1.0, 2.0, 4.0, 8.0]
        assert len(complaints(caplog)) == 1
        assert "open the page by its address" in complaints(caplog)[0]
        assert "open the page by its address" in edges.troubles()[0].note
        await clock.pass_by(8.0)
        assert (await here.service()).server == f"{name}.local."
        assert edges.troubles() == ()


async def raise_at_once() -> None:
    raise OSError("network is unreachable")


async def hang() -> None:
    await asyncio.Event().wait()


@pytest.mark.parametrize("fault", [raise_at_once, hang])
async def test_a_network_that_fails_at_the_end_does_not_keep_it_from_stopping(
    name: str, clock: SetClock, fault: Callable[[], Awaitable[None]]
) -> None:
    class Broken(AsyncZeroconf):
        async def async_close(self) -> None:
            await fault()

    broken = announcer(name, clock, open_network=lambda _: Broken(interfaces=["127.0.0.1"]))
    task = asyncio.create_task(broken.run())
    await clock.someone_waits()
    task.cancel()
    async with asyncio.timeout(DEADLINE_S):
        with pytest.raises(asyncio.CancelledError):
            await task
