"""Between the daemon and the broker: lines in, messages out, status lines back."""

from __future__ import annotations

import asyncio
import json
import os
import sys

from pullcall.bus.orders import parse_orders
from pullcall.bus.outgoing import Outgoing
from pullcall.bus.publication import Leaving
from pullcall.bus.status import BusStatus, status_line
from pullcall.clock import RealClock

#: Bytes of the longest line that is read.
_LONGEST_LINE = 4 * 1024 * 1024
#: How long a goodbye may take, seconds.
_GOODBYE_S = 2.0
#: How often the daemon is told how it is, seconds.
_BEAT_S = 0.5


async def converse() -> None:
    """Publish what comes on standard input until it ends, then end this process."""
    lines = await _standard_input()
    outgoing = Outgoing(parse_orders(await lines.readline()), RealClock())
    running = asyncio.create_task(outgoing.run(), name="run")
    telling = asyncio.create_task(_tell(outgoing), name="tell")
    hearing = asyncio.create_task(_hear(lines, outgoing), name="hear")
    await asyncio.wait({hearing, running, telling}, return_when=asyncio.FIRST_COMPLETED)
    if hearing.done():
        outgoing.leave(hearing.result())
        await asyncio.wait({running}, timeout=_GOODBYE_S)
    for task in (running, telling):
        if task.done():
            task.result()
    # A thread may still wait for an address or a handshake: nobody needs what it finds.
    os._exit(0)


async def _hear(lines: asyncio.StreamReader, outgoing: Outgoing) -> Leaving:
    """Take what the daemon says; gives how it went."""
    while line := await lines.readline():
        message = json.loads(line)
        if message["type"] == "bye":
            return "gone"
        outgoing.take(message)
    return "lost"


async def _tell(outgoing: Outgoing) -> None:
    """Tell the daemon how it is, where that changed."""
    told: BusStatus | None = None
    while True:
        if told != outgoing.status():
            told = outgoing.status()
            print(status_line(told), flush=True)
        await asyncio.sleep(_BEAT_S)


async def _standard_input() -> asyncio.StreamReader:
    lines = asyncio.StreamReader(limit=_LONGEST_LINE)
    protocol = asyncio.StreamReaderProtocol(lines)
    await asyncio.get_running_loop().connect_read_pipe(lambda: protocol, sys.stdin)
    return lines
