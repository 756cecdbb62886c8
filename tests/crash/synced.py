"""Whether an answer waits for the disk: SIGKILL cannot show it, for what was written stays.

The daemon's own system calls are looked at while marks are tapped one after the other: each answer
has to come after the log was written and synced. What a disk does that only claims to have synced
is beyond this.
"""

from __future__ import annotations

import asyncio
import shutil
import signal
from collections.abc import Iterable
from pathlib import Path

from tests.crash.life import Life
from tests.process import running

_TRACED = "trace=pwrite64,fdatasync,fsync,sendto,sendmsg,write"
MARKS = 20
_PATIENCE_S = 60.0


async def answers_synced(life: Life, folder: Path) -> tuple[int, int] | None:
    """How many answers were seen, and how many of them after a sync; None without strace(1)."""
    strace = shutil.which("strace")
    if strace is None:
        return None
    trace = folder / "trace.txt"
    command = [strace, "-f", "-y", "-e", _TRACED, "-o", str(trace), "-p", str(life.pid)]
    async with running(*command, stderr=asyncio.subprocess.PIPE) as tracer:
        assert tracer.stderr is not None
        said = await asyncio.wait_for(tracer.stderr.readline(), _PATIENCE_S)
        if b"attached" not in said:
            return None
        for _ in range(MARKS):
            await life.ask("POST", "marks", {"mark": "lid_open"})
        tracer.send_signal(signal.SIGINT)
        await tracer.communicate()
    return judged(await asyncio.to_thread(_lines, trace))


def judged(lines: Iterable[str]) -> tuple[int, int]:
    """Answers, and answers before which all that was written to the log was synced.

    What was answered before any write was seen had been written before anybody looked.
    """
    answers = synced = 0
    has_begun = is_written = is_synced = False
    for line in lines:
        if "pwrite64(" in line and "-wal>" in line:
            has_begun, is_written, is_synced = True, True, False
        elif "fdatasync" in line and line.rstrip().endswith("= 0"):
            is_synced = True
        elif "HTTP/1.1 201" in line and has_begun:
            answers += 1
            synced += is_written and is_synced
            is_written = is_synced = False
    return answers, synced


def _lines(trace: Path) -> list[str]:
    return trace.read_text(errors="replace").splitlines()
