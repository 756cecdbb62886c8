"""How soon each fault of Bluetooth is shown and recovered from, with the timings people get.

Each fault is played in a process of its own, all at the same time: they wait far more than they
work. The table is the one of docs/reliability/bluetooth.md.
"""

from __future__ import annotations

import asyncio
import json
import sys
from statistics import median

from tests.bench.bluetooth_faults import FAULTS

RUNS = 5
_HEAD = (
    "| fault | the page tells it after: median, worst | values again after its end: median, worst |"
)


async def measure() -> str:
    """Seconds, for each fault."""
    found = await asyncio.gather(*(_measured(name) for name in FAULTS))
    rows = [_row(name, runs) for name, runs in zip(FAULTS, found, strict=True)]
    return "\n".join((f"{RUNS} runs each, seconds", "", _HEAD, "|---|---|---|", *rows))


async def _measured(name: str) -> list[tuple[float, float]]:
    process = await asyncio.create_subprocess_exec(
        *(sys.executable, "-m", "tests.bench.bluetooth_faults", name, str(RUNS)),
        stdout=asyncio.subprocess.PIPE,
        stderr=asyncio.subprocess.DEVNULL,  # bleak and the collector tell of every loss
    )
    said, _ = await process.communicate()
    runs: list[tuple[float, float]] = json.loads(said) if said else []
    return runs


def _row(name: str, runs: list[tuple[float, float]]) -> str:
    if not runs:
        return f"| {name} | it did not recover | |"
    told, back = zip(*runs, strict=True)
    cells = [f"{median(times):.1f}, {max(times):.1f}" for times in (told, back)]
    return f"| {name} | {' | '.join(cells)} |"
