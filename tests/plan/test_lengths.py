"""How long steps take: what has passed is gone, forecasts are drawn through their quantiles."""

from __future__ import annotations

import numpy as np
import pytest

from pullcall.events import MarkKind, Quantiles
from pullcall.plan.day import Day
from pullcall.plan.lengths import Seconds, Shares, lengths, spread, weights
from pullcall.plan.progress import Progress, SteakProgress
from tests.plan.days import LEFT, minutes

DAY = Day((LEFT,), {"light": minutes(15, 20), "cook": minutes(8, 12), "rest": minutes(7, 10)})
SHARE = np.array([0.0, 0.1, 0.5, 0.9, 1.0])
SHARES = Shares.make({("light", None): SHARE, ("cook", "left"): SHARE, ("rest", "left"): SHARE})


def in_minutes(name: str, steak: str | None, now: float, progress: Progress) -> Seconds:
    return lengths(DAY, progress.settled(now * 60), now * 60, SHARES)[name, steak] / 60


def test_a_step_not_begun_takes_its_range() -> None:
    assert in_minutes("light", None, 3.0, Progress()) == pytest.approx([15, 15.5, 17.5, 19.5, 20])


def test_of_a_running_step_only_what_has_not_passed_is_left() -> None:
    # A uniform range known to exceed 18 min is uniform from 18 to 20 min.
    lit = Progress({MarkKind.LIT: 100 * 60.0})
    assert in_minutes("light", None, 118.0, lit) == pytest.approx([18, 18.2, 19, 19.8, 20])
    assert in_minutes("light", None, 131.0, lit) == pytest.approx([31] * 5)


def test_a_forecast_is_met_at_its_quantiles_and_goes_on_straight() -> None:
    drawn = spread(Quantiles(30.0, 40.0, 60.0), weights(SHARE))
    assert drawn == pytest.approx([27.5, 30.0, 40.0, 60.0, 65.0])
    assert spread(Quantiles(0.0, 40.0, 60.0), weights(SHARE))[0] == 0.0


def test_a_steak_on_the_grate_takes_what_its_forecast_says() -> None:
    forecast = Quantiles(60.0, 120.0, 180.0)
    on = Progress(steaks=(SteakProgress("left", on_t=600.0, pull_in_s=forecast),))
    assert in_minutes("cook", "left", 20.0, on) == pytest.approx([10.75, 11, 12, 13, 13.25])


def test_a_rest_is_no_shorter_than_its_forecast_asks_for() -> None:
    off = Progress(steaks=(SteakProgress("left", on_t=0.0, off_t=600.0, rest_in_s=300.0),))
    assert in_minutes("rest", "left", 14.0, off)[[0, 4]] == pytest.approx([9, 10])
