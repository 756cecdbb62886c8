"""How much faster than life a cook is replayed with its forecasts."""

from __future__ import annotations

import statistics
import time

from pullcall.log.cook_file import parse_cook_lines
from pullcall.log.replay import replay
from pullcall.simulators.cookfile import lines
from pullcall.simulators.scenario import scenario


async def measure() -> str:
    """Times real time, the median of five replays of a simulated cook of two steaks."""
    cook = parse_cook_lines(lines(scenario("demo")))
    cooked = cook.inputs[-1].t - cook.inputs[0].t
    speeds = []
    for _ in range(5):
        began = time.perf_counter()
        effects = sum(1 for _ in replay(cook))
        speeds.append(cooked / (time.perf_counter() - began))
    return f"{statistics.median(speeds):.0f} times real time, {effects} effects (target >= 200)"
