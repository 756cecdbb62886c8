"""How often the band holds the truth with one old spot or none: cooks whose probes are left out.

The spot is what the probe showed then: near the middle, with its noise.
"""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from pullcall.events import Forecast, Mark, Quantiles, Reading, Spot
from pullcall.forecast.engine import ForecastEngine
from tests.forecast.cooks.simulated import KnownCook, Truth, copied_cooks, own_cooks

#: When the only spot is taken, share of the time on the grate up to the crossing.
SPOT_AT = 0.4
#: When the pull is asked for, s before the crossing.
LEADS_S = (180.0, 120.0, 60.0, 20.0)
#: As of the bands with a probe.
LEAST = 0.70


def spot(cook: KnownCook, truth: Truth) -> Spot:
    mine = [e for e in cook.events if isinstance(e, Reading | Mark) and e.steak == truth.steak]
    on_t = next(e.t for e in mine if isinstance(e, Mark))
    at = on_t + SPOT_AT * (truth.cross_s - on_t)
    shown = [e.celsius for e in mine if isinstance(e, Reading) and e.t <= at]
    return Spot(at, truth.steak, shown[-1])


def forecasts(cook: KnownCook, truth: Truth, has_spot: bool) -> Iterator[tuple[float, Forecast]]:
    """What is told of a steak, beside the seconds really left."""
    engine, due = ForecastEngine(cook.header), list(LEADS_S)
    taken: list[Mark | Spot] = [e for e in cook.events if isinstance(e, Mark)]
    if has_spot:
        taken = sorted([*taken, spot(cook, truth)], key=lambda e: e.t)
    for event in taken:
        while due and truth.cross_s - due[0] < event.t:
            left = due.pop(0)
            yield left, engine.forecast(truth.steak, truth.cross_s - left)
        if event.t >= truth.pull_s:
            return
        engine.update(event)


def holds(said: Quantiles | None, left: float) -> bool:
    assert said is not None
    return said.p10 <= left <= said.p90


@pytest.mark.parametrize("has_spot", [False, True])
@pytest.mark.parametrize("whose", ["own", "copied"])
def test_the_band_holds_the_truth_with_an_old_spot_or_none(whose: str, has_spot: bool) -> None:
    cooks = own_cooks() if whose == "own" else copied_cooks()
    held = [
        holds(forecast.pull_in_s, left)
        for cook in cooks
        for truth in cook.truths
        for left, forecast in forecasts(cook, truth, has_spot)
    ]
    assert len(held) >= 80
    assert sum(held) / len(held) >= LEAST
