"""What processes cost, from /proc."""

from __future__ import annotations

import os
from pathlib import Path


def cpu_seconds(pid: int) -> float:
    """Processor time of a process so far, all its threads."""
    fields = Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def resident_mb(pid: int) -> float:
    """Memory that is really there."""
    pages = int(Path(f"/proc/{pid}/statm").read_text().split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 1e6


def children(pid: int) -> list[int]:
    """The processes that a process started."""
    text = Path(f"/proc/{pid}/task/{pid}/children").read_text()
    return [int(child) for child in text.split()]


def load() -> str:
    """How busy the whole machine is: runnable tasks over one and five minutes, and its cores."""
    one, five, _ = os.getloadavg()
    return f"load {one:.1f}/{five:.1f} on {os.cpu_count()} cores"
