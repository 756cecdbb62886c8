"""Runs a command of the machine, and leaves nothing of it behind."""

from __future__ import annotations

import asyncio
import contextlib
import os
import signal
from collections.abc import Sequence
from dataclasses import dataclass

from pullcall.leash import leashed

#: A command that was killed may leave a pipe open in a child that left its group, seconds.
_LAST_WORDS_S = 1.0


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
    life = asyncio.create_task(_life(command, given, stop), name=f"command {command[0]}")
    try:
        return await asyncio.shield(life)
    except asyncio.CancelledError:
        stop.set()
        # This takes a moment only: cancelling again must not leave the command running.
        while not life.done():
            with contextlib.suppress(asyncio.CancelledError):
                await asyncio.wait({life})
        raise


async def _life(command: Sequence[str], given: bytes, stop: asyncio.Event) -> Ended:
    process = await asyncio.create_subprocess_exec(
        *leashed(command),
        stdin=asyncio.subprocess.PIPE,
        stdout=asyncio.subprocess.PIPE,
        stderr=asyncio.subprocess.PIPE,
        start_new_session=True,
    )
    talk = asyncio.create_task(process.communicate(given))
    stopped = asyncio.create_task(stop.wait())
    try:
        await asyncio.wait({talk, stopped}, return_when=asyncio.FIRST_COMPLETED)
    finally:
        stopped.cancel()
        if not talk.done():
            with contextlib.suppress(ProcessLookupError):
                os.killpg(process.pid, signal.SIGKILL)
            await asyncio.wait({talk}, timeout=_LAST_WORDS_S)
            talk.cancel()
    output, complaint = await talk
    lines = complaint.decode(errors="replace").strip().splitlines()
    return Ended(process.returncode or 0, output, lines[-1][:120] if lines else "")
