"""Probes that are elsewhere, silent or in the air, and what the forecast makes of them."""

from __future__ import annotations

import numpy as np
import pytest

from pullcall.events import Mark, MarkKind, Reading, Spot
from pullcall.forecast.belief import Belief
from pullcall.forecast.engine import ForecastEngine
from pullcall.forecast.outlook import table_of
from tests.cooks import ONE


def test_a_probe_in_no_steak_is_nobodys_reading() -> None:
    engine, plain = ForecastEngine(ONE), ForecastEngine(ONE)
    for one in (engine, plain):
        one.update(Mark(0.0, "left", MarkKind.ON))
    for t in range(1, 60):
        reading = Reading(float(t), "left", 8.0)
        for one in (engine, plain):
            one.update(reading)
        engine.update(Reading(t + 0.5, None, 120.0, "grate/1"))
    assert engine.forecast("left", 60.0) == plain.forecast("left", 60.0)


def test_a_spot_takes_over_from_a_silent_probe() -> None:
    engine = ForecastEngine(ONE)
    engine.update(Mark(0.0, "left", MarkKind.ON))
    for t in range(1, 200):
        engine.update(Reading(float(t), "left", 8.0 + 0.08 * t))
    assert engine.forecast("left", 500.0).pull_in_s is None
    engine.update(Spot(500.0, "left", 45.0))
    after = engine.forecast("left", 500.0)
    assert after.pull_in_s is not None
    assert after.core_c == pytest.approx(45.0, abs=5.0)


def test_hours_without_a_reading_are_no_error() -> None:
    engine = ForecastEngine(ONE)
    for t in range(-20, 0):
        engine.update(Reading(float(t), "left", 8.0))
    engine.update(Mark(0.0, "left", MarkKind.ON))
    forecast = engine.forecast("left", 20_000.0)
    assert forecast.pull_in_s is None
    assert forecast.why


def test_air_before_on_is_not_taken_for_meat() -> None:
    engine, plain = ForecastEngine(ONE), ForecastEngine(ONE)
    for t in range(-20, 0):
        engine.update(Reading(float(t), "left", 60.0))
    for one in (engine, plain):
        one.update(Mark(0.0, "left", MarkKind.ON))
        for t in range(1, 120):
            one.update(Reading(float(t), "left", 5.0 + 0.05 * t))
    found, expected = (one.forecast("left", 120.0).core_c for one in (engine, plain))
    assert found == pytest.approx(expected, abs=0.5)


def test_a_probe_that_touched_the_grate_leaves_no_peak_behind() -> None:
    engine = ForecastEngine(ONE)
    engine.update(Mark(0.0, "left", MarkKind.ON))
    for t in range(1, 300):
        celsius = 95.0 if 200 <= t < 220 else 8.0 + 0.12 * t
        engine.update(Reading(float(t), "left", celsius))
    peak = engine.forecast("left", 300.0).peak_c
    assert peak is not None
    assert peak.p90 < 75.0


def test_after_a_marked_flip_no_other_is_expected() -> None:
    belief = Belief(0, ONE.steaks[0], ONE.plan, on_board=False)
    for t, kind in ((0.0, MarkKind.ON), (240.0, MarkKind.FLIP), (330.0, MarkKind.FLIP)):
        belief.mark(Mark(t, "left", kind))
    table = table_of(belief, 345.0)
    assert np.array_equal(table.shows_c, belief.members.shows_over(table.times))
