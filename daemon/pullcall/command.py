"""Runs a command of the machine, and leaves nothing of it behind."""

from __future__ import annotations

import asyncio
from asyncio.subprocess import PIPE
from collections.abc import Sequence
from dataclasses import dataclass

from pullcall.child_process import LAST_WORDS_S, spawn
from pullcall.leash import leashed
from pullcall.seen_through import seen_through


@dataclass(frozen=True, slots=True)
class Ended:
    """How a command ended: its exit code, what it wrote, and the last line it complained with."""

    code: int
    output: bytes
    complaint: str


async def run_command(command: Sequence[str], given: bytes = b"") -> Ended:
    """Run ``command`` with ``given`` on its standard input, to its end, or to that of this process.

    Cancelled, it returns only when the command and its children are killed and collected, even
    where the command was just about to start. Raises OSError if it cannot be started.
    """
    stop = asyncio.Event()
    return await seen_through(_life(command, given, stop), stop.set)


async def _life(command: Sequence[str], given: bytes, stop: asyncio.Event) -> Ended:
    process = await spawn(leashed(command), stdin=PIPE, stdout=PIPE, stderr=PIPE)
    talk = asyncio.create_task(process.communicate(given))
    stopped = asyncio.create_task(stop.wait())
    try:
        await asyncio.wait({talk, stopped}, return_when=asyncio.FIRST_COMPLETED)
    finally:
        stopped.cancel()
        if not talk.done():
            process.kill_all()
            await asyncio.wait({talk}, timeout=LAST_WORDS_S)
            talk.cancel()
        await process.close()
    output, complaint = await talk
    lines = complaint.decode(errors="replace").strip().splitlines()
    return Ended(process.returncode or 0, output, lines[-1][:120] if lines else "")
