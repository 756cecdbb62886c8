"""A process of this program beside the daemon, fed and read by lines."""

from __future__ import annotations

import asyncio
from asyncio.subprocess import PIPE, Process
from collections.abc import Sequence

from pullcall.child_process import ChildProcess, spawn
from pullcall.leash import leashed


async def start(command: Sequence[str]) -> ChildProcess:
    """Start it, so that it ends with this process. Raises OSError."""
    return await spawn(leashed(command), stdin=PIPE, stdout=PIPE)


async def write_line(process: Process, line: str, within_s: float) -> None:
    """Hand over one line. Raises TimeoutError or OSError where it is not taken."""
    assert process.stdin is not None
    process.stdin.write(line.encode() + b"\n")
    async with asyncio.timeout(within_s):
        await process.stdin.drain()
