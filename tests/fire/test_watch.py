"""A low or high fire is told once it lasted, and let go only well inside its bounds."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from pullcall.fire.fire import FireReport
from pullcall.fire.state import FireState
from pullcall.fire.watch import FireWatch
from tests.fire.fires import SETTINGS

FLOOR_C, CEILING_C = SETTINGS.floor_c, SETTINGS.ceiling_c


def _report(t: float, celsius: float, was_ready: bool = True) -> FireReport:
    state = FireState.READY if was_ready else FireState.HEATING
    if was_ready and celsius < FLOOR_C:
        state = FireState.LOW
    return FireReport(t, celsius, 0.0, None, None, state)


def _watched(celsius: Callable[[int], float], seconds: int, watch: FireWatch) -> list[FireState]:
    return [
        watch.see(_report(float(t), celsius(t)), SETTINGS, float(t), False) for t in range(seconds)
    ]


def test_a_fire_is_low_after_thirty_seconds_below_its_floor() -> None:
    states = _watched(lambda t: FLOOR_C - 1.0, 60, FireWatch())
    assert states.index(FireState.LOW) == 30


def test_a_fire_is_high_after_thirty_seconds_above_its_ceiling() -> None:
    states = _watched(lambda t: CEILING_C + 1.0, 60, FireWatch())
    assert states.index(FireState.HIGH) == 30


def test_a_dip_of_twenty_nine_seconds_is_no_low_fire() -> None:
    states = _watched(lambda t: FLOOR_C + (20.0 if t % 30 == 0 else -5.0), 300, FireWatch())
    assert FireState.LOW not in states


def test_a_low_fire_ends_twenty_seconds_after_it_is_fourteen_above_its_floor() -> None:
    def then(to_c: float) -> list[FireState]:
        return _watched(lambda t: FLOOR_C - 1.0 if t < 40 else to_c, 120, FireWatch())

    assert then(FLOOR_C + 13.0)[-1] is FireState.LOW
    ended = then(FLOOR_C + 15.0)
    assert ended[59] is FireState.LOW
    assert ended[60] is FireState.READY


def test_a_high_fire_ends_fourteen_below_its_ceiling() -> None:
    def then(to_c: float) -> list[FireState]:
        return _watched(lambda t: CEILING_C + 1.0 if t < 40 else to_c, 120, FireWatch())

    assert then(CEILING_C - 13.0)[-1] is FireState.HIGH
    assert then(CEILING_C - 15.0)[-1] is FireState.READY


def test_a_heating_fire_is_not_low_unless_something_lies_on_it() -> None:
    idle, cooking = FireWatch(), FireWatch()
    for t in range(100):
        report = _report(float(t), 180.0, was_ready=False)
        idle.see(report, SETTINGS, float(t), anything_on=False)
        cooking.see(report, SETTINGS, float(t), anything_on=True)
    assert not idle.is_low
    assert cooking.is_low


def test_a_fire_nobody_hears_of_is_neither_low_nor_high() -> None:
    watch = FireWatch()
    assert _watched(lambda t: FLOOR_C - 1.0, 60, watch)[-1] is FireState.LOW
    stale = FireReport(60.0, FLOOR_C - 1.0, 130.0, None, None, FireState.STALE)
    for t in range(60, 100):
        watch.see(stale, SETTINGS, float(t), True)
    assert not watch.is_low
    for t in range(100, 200):
        assert watch.see(None, SETTINGS, float(t), True) is FireState.READY


@given(st.lists(st.floats(200.0, 450.0, allow_nan=False), min_size=1, max_size=300))
def test_a_state_lasts_at_least_as_long_as_the_delays(figures: list[float]) -> None:
    states = _watched(lambda t: figures[t], len(figures), FireWatch())
    changes = [t for t in range(1, len(states)) if states[t] is not states[t - 1]]
    assert states[0] is FireState.READY
    for begin, end in pairwise(changes):
        assert end - begin >= (20 if states[begin] is not FireState.READY else 1)
    if changes:
        assert changes[0] >= 30


@given(st.lists(st.floats(200.0, 450.0, allow_nan=False), min_size=1, max_size=200))
def test_a_fire_is_never_low_and_high_at_once(figures: list[float]) -> None:
    watch = FireWatch(on_s=2.0, off_s=2.0)
    for t, celsius in enumerate(figures):
        watch.see(_report(float(t), celsius), SETTINGS, float(t), False)
        assert not (watch.is_low and watch.is_high)
