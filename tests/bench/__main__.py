"""``make bench``: the promised figures, measured on this machine. Nothing is asserted."""

from __future__ import annotations

import asyncio
import sys
from collections.abc import Awaitable, Callable

from tests.bench import (
    bluetooth_recovery,
    calls_over_cooks,
    crowd,
    daemon_cost,
    latency,
    learning,
    many_sites,
    page_cost,
    replay_cost,
    replay_speed,
    restart,
)

Bench = Callable[[], Awaitable[str]]
BENCHES: dict[str, Bench] = {
    "page_cost": page_cost.measure,
    "replay_cost": replay_cost.measure,
    "replay_speed": replay_speed.measure,
    "calls_over_cooks": calls_over_cooks.measure,
    "latency": latency.measure,
    "learning": learning.measure,
    "daemon_cost": daemon_cost.measure,
    "many_sites": many_sites.measure,
    "crowd": crowd.measure,
    "bluetooth_recovery": bluetooth_recovery.measure,
    "restart": restart.measure,
}


async def main(names: list[str]) -> None:
    """Run the benches named, or all."""
    unknown = [name for name in names if name not in BENCHES]
    if unknown:
        sys.exit(f"No bench is called {unknown[0]}. There are: {', '.join(BENCHES)}.")
    for name in names or BENCHES:
        print(f"{name}: {await BENCHES[name]()}", flush=True)


if __name__ == "__main__":
    asyncio.run(main(sys.argv[1:]))
