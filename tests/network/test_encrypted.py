"""Handshakes have places and an end; nobody is behind TLS before."""

from __future__ import annotations

import asyncio
import ssl
from collections.abc import AsyncIterator
from typing import Any

import pytest

from pullcall.network.callers import Callers
from pullcall.network.encrypted import Encrypted
from pullcall.network.unread import Unread


class FakeTransport(asyncio.Transport):
    """A wire from some address; nothing ever comes."""

    def __init__(self, address: str) -> None:
        super().__init__({"peername": (address, 1)})
        self.is_ended = False

    def write(self, data: Any) -> None:
        """Nobody reads it."""

    def get_write_buffer_size(self) -> int:
        return 0

    def is_closing(self) -> bool:
        return self.is_ended

    def abort(self) -> None:
        self.is_ended = True


def silent(address: str) -> tuple[FakeTransport, Encrypted]:
    """Somebody who connects and says nothing."""
    loop, context = asyncio.get_running_loop(), ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    wire, tls = FakeTransport(address), Encrypted(loop, asyncio.Protocol(), context, Unread())
    tls.connection_made(wire)
    _made.append(tls)
    return wire, tls


_made: list[Encrypted] = []


@pytest.fixture(autouse=True)
async def few(monkeypatch: pytest.MonkeyPatch) -> AsyncIterator[Callers[Encrypted]]:
    callers: Callers[Encrypted] = Callers(most=4, most_of_one=2)
    monkeypatch.setattr(Encrypted, "callers", callers)
    yield callers
    while _made:
        _made.pop().connection_lost(None)


async def test_an_address_has_few_handshakes_under_way() -> None:
    ends = [silent("10.0.0.1")[0].is_ended for _ in range(3)]
    assert ends == [False, False, True]
    assert not silent("10.0.0.2")[0].is_ended


async def test_a_handshake_that_was_given_up_leaves_its_place(few: Callers[Encrypted]) -> None:
    _, tls = silent("10.0.0.1")
    assert len(few) == 1
    tls.connection_lost(None)
    assert len(few) == 0


async def test_a_handshake_has_a_deadline(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[float] = []
    loop = asyncio.get_running_loop()
    begin = loop.call_later

    def note(after: float, *act: Any) -> asyncio.TimerHandle:
        asked.append(after)
        return begin(after, *act)

    monkeypatch.setattr(loop, "call_later", note)
    silent("10.0.0.1")
    assert asked == [10]


async def test_a_phone_costs_one_record_of_memory() -> None:
    _, tls = silent("10.0.0.1")
    assert len(tls.get_buffer(-1)) <= 16 * 1024
