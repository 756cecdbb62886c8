"""How much of a connection its peer has taken."""

from __future__ import annotations

import asyncio
import socket
from typing import cast

from pullcall.network.wire import CountedWire


class Transport:
    """A transport whose peer a test has take as much as it likes."""

    def __init__(self) -> None:
        self.waits = 0
        self.is_reading = True

    def write(self, data: bytes) -> None:
        self.waits += len(data)

    def get_write_buffer_size(self) -> int:
        return self.waits

    def pause_reading(self) -> None:
        self.is_reading = False


def test_what_is_handed_over_and_does_not_wait_was_taken() -> None:
    transport = Transport()
    wire = CountedWire(cast(asyncio.Transport, transport))
    wire.write(b"x" * 700)
    wire.writelines([b"x" * 200, b"x" * 100])
    assert wire.taken == 0
    transport.waits = 250
    assert wire.taken == 750
    wire.write(b"x" * 10_000)  # filled up again: nothing more was taken
    assert (wire.taken, wire.get_write_buffer_size()) == (750, 10_250)


def test_all_the_rest_is_the_transports_own() -> None:
    transport = Transport()
    wire = CountedWire(cast(asyncio.Transport, transport))
    wire.pause_reading()
    assert not transport.is_reading


async def test_a_peer_that_reads_is_seen_to_on_a_real_connection() -> None:
    near, far = socket.socketpair()
    far.setblocking(False)
    transport, _ = await asyncio.get_running_loop().connect_accepted_socket(asyncio.Protocol, near)
    wire = CountedWire(transport)
    wire.write(b"x" * 4_000_000)
    before = wire.taken
    assert before < 4_000_000
    read = 0
    async with asyncio.timeout(60):
        while wire.get_write_buffer_size():
            read += len(await asyncio.get_running_loop().sock_recv(far, 1_000_000))
    assert wire.taken == 4_000_000
    assert read >= 4_000_000 - before
    wire.abort()
    far.close()
