"""A process of this program beside the daemon, fed and read by lines."""

from __future__ import annotations

import asyncio
import contextlib
import os
import signal
from asyncio.subprocess import PIPE, Process
from collections.abc import Sequence

from pullcall.leash import leashed


async def start(command: Sequence[str]) -> Process:
    """Start it, apart from this one's group, so that Ctrl-C does not reach it. Raises OSError."""
    return await asyncio.create_subprocess_exec(
        *leashed(command), stdin=PIPE, stdout=PIPE, start_new_session=True
    )


async def write_line(process: Process, line: str, within_s: float) -> None:
    """Hand over one line. Raises TimeoutError or OSError where it is not taken."""
    assert process.stdin is not None
    process.stdin.write(line.encode() + b"\n")
    async with asyncio.timeout(within_s):
        await process.stdin.drain()


async def end(process: Process) -> None:
    """Kill it with all that it started, unless it has ended, and collect it."""
    if process.returncode is None:
        with contextlib.suppress(ProcessLookupError):
            os.killpg(process.pid, signal.SIGKILL)
    await process.wait()
