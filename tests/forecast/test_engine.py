"""The engine on small simulated cooks: pull, peak, rest, aim, two steaks, and odd inputs."""

from __future__ import annotations

import math
from copy import deepcopy
from dataclasses import replace
from random import Random

import pytest

from pullcall.events import CarryOver, Forecast, Mark, MarkKind, Quantiles, Reading, Setting, Spot
from pullcall.forecast.engine import ForecastEngine
from tests.forecast.cooks.small import ONE, PULL_C, TWO, Event, cooked, crossing, reread, told

EVENTS, HEADER, CROSS_S = cooked(ONE)[0], ONE.header(), crossing(ONE)
TRUE_PEAK_C = cooked(ONE)[1]["left"].peak_c
#: The least rest of common practice (7 to 10 min), no source.
LEAST_REST_S = 420.0


def ordered(found: Quantiles | None) -> bool:
    return found is None or found.p10 <= found.p50 <= found.p90


def makes_sense(forecast: Forecast) -> bool:
    """Quantiles in order, finite, and no pull in the past; a reason where there is none."""
    pull, peak = forecast.pull_in_s, forecast.peak_c
    bands = [q for q in (pull, peak, forecast.aim_c) if q is not None]
    finite = all(math.isfinite(x) for q in bands for x in (q.p10, q.p50, q.p90))
    in_order = all(ordered(q) for q in bands)
    not_past = pull is None or pull.p10 >= 0.0
    waits = (forecast.peak_in_s, forecast.rest_in_s)
    return finite and in_order and not_past and all(w is None or w >= 0.0 for w in waits)


def test_before_it_is_on_nothing_is_told_and_it_is_said_why() -> None:
    forecast = told(HEADER, EVENTS, [15.0])[0]
    assert forecast.pull_in_s is None
    assert forecast.peak_c is None
    assert forecast.why == "not on yet"


def test_a_steak_of_another_cook_is_refused_and_its_events_are_left_out() -> None:
    engine = ForecastEngine(HEADER)
    with pytest.raises(KeyError):
        engine.forecast("middle", 0.0)
    engine.update(Reading(1.0, "middle", 20.0))
    engine.update(Mark(2.0, "middle", MarkKind.ON))
    assert engine.forecast("left", 3.0).why == "not on yet"


def test_from_on_until_off_a_pull_and_a_peak_are_told() -> None:
    times = [25.0, *(float(t) for t in range(30, int(CROSS_S), 15))]
    for forecast in told(HEADER, EVENTS, times):
        assert makes_sense(forecast)
        assert forecast.pull_in_s is not None
        assert forecast.peak_c is not None
        # The core is highest after the pull, so the peak is above the pull temperature.
        assert forecast.peak_c.p10 > PULL_C - 1.0
        assert forecast.peak_in_s is None


def test_the_band_is_wide_at_first_and_narrows_toward_the_pull() -> None:
    leads = (500.0, 300.0, 120.0, 60.0, 20.0)
    found = [f.pull_in_s for f in told(HEADER, EVENTS, [CROSS_S - lead for lead in leads])]
    widths = [q.p90 - q.p10 for q in found if q is not None]
    assert len(widths) == len(leads)
    assert widths == sorted(widths, reverse=True)
    assert widths[0] > 120.0
    assert widths[-1] < 15.0


def test_after_off_the_peak_and_the_rest_are_told_instead_of_a_pull() -> None:
    off = next(e.t for e in EVENTS if isinstance(e, Mark) and e.mark is MarkKind.OFF)
    for forecast in told(HEADER, EVENTS, [off + after for after in (1.0, 30.0, 90.0, 300.0)]):
        assert makes_sense(forecast)
        assert forecast.pull_in_s is None
        assert forecast.aim_c is None
        assert forecast.peak_in_s is not None
        assert forecast.rest_in_s is not None
        left = off + LEAST_REST_S - forecast.t
        assert forecast.rest_in_s == pytest.approx(max(left, forecast.peak_in_s, 0.0), abs=0.1)


def test_once_the_peak_is_passed_it_is_known() -> None:
    last = told(HEADER, EVENTS, [CROSS_S + 350.0])[0]
    assert last.peak_c is not None
    assert last.peak_c.p50 == pytest.approx(TRUE_PEAK_C, abs=0.3)
    assert last.peak_c.p90 - last.peak_c.p10 < 0.5
    assert last.peak_in_s == 0.0


def test_the_peak_is_never_below_a_core_already_seen_after_off() -> None:
    times = [CROSS_S + after for after in range(5, 400, 15)]
    highest = -math.inf
    for forecast in told(HEADER, EVENTS, times):
        assert forecast.core_c is not None
        assert forecast.peak_c is not None
        highest = max(highest, forecast.core_c)
        assert forecast.peak_c.p10 >= highest - 0.05


@pytest.mark.parametrize("lead", [200.0, 100.0, 30.0])
def test_pulling_at_the_aim_reaches_the_target_by_the_forecasts_own_peak(lead: float) -> None:
    now = CROSS_S - lead
    aim = told(HEADER, EVENTS, [now])[0].aim_c
    assert aim is not None
    set_to_aim = Setting(now, "left", "pull_c", aim.p50)
    events = [*(e for e in EVENTS if e.t <= now), set_to_aim]
    peak = told(HEADER, events, [now + 0.01])[0].peak_c
    assert peak is not None
    assert peak.p50 == pytest.approx(57.0, abs=0.3)


def test_without_a_target_there_is_no_aim() -> None:
    plain = replace(HEADER, steaks=(replace(HEADER.steaks[0], target_c=None),))
    assert told(plain, EVENTS, [CROSS_S - 100.0])[0].aim_c is None


def test_the_plain_mode_adds_five_degrees_fahrenheit_to_the_pull_temperature() -> None:
    # 5 F of carry-over for a 1.25 in steak: common practice, no source.
    plain = replace(HEADER, carry_over=CarryOver.FIVE_DEGREES)
    forecast, usual = (told(header, EVENTS, [CROSS_S - 60.0])[0] for header in (plain, HEADER))
    assert forecast.peak_c is not None
    assert forecast.aim_c is not None
    assert forecast.peak_c.p50 == pytest.approx(PULL_C + 5.0 / 1.8, abs=0.05)
    assert forecast.aim_c.p50 == pytest.approx(57.0 - 5.0 / 1.8, abs=0.05)
    assert forecast.peak_c.p90 - forecast.peak_c.p10 > 1.0
    assert forecast.pull_in_s == usual.pull_in_s


@pytest.mark.parametrize("name", ["carry_over", "pull_c", "thickness_mm", "rest_on", "strange"])
@pytest.mark.parametrize("value", ["nonsense", None, -1.0])
def test_settings_that_make_no_sense_are_left_out(name: str, value: float | str | None) -> None:
    engine, now = ForecastEngine(HEADER), CROSS_S - 60.0
    for event in EVENTS:
        if event.t <= now:
            engine.update(event)
    engine.update(Setting(now, "left", name, value))
    assert makes_sense(engine.forecast("left", now + 1.0))


@pytest.mark.parametrize("by_c", [-3.0, 3.0])
def test_a_changed_pull_temperature_moves_the_pull_with_it(by_c: float) -> None:
    now = CROSS_S - 150.0
    events = [*(e for e in EVENTS if e.t <= now), Setting(now, "left", "pull_c", PULL_C + by_c)]
    before, after = (told(HEADER, given, [now + 0.01])[0] for given in (EVENTS, events))
    assert before.pull_in_s is not None
    assert after.pull_in_s is not None
    assert before.peak_c is not None
    assert after.peak_c is not None
    assert (after.pull_in_s.p50 > before.pull_in_s.p50) == (by_c > 0.0)
    assert (after.peak_c.p50 > before.peak_c.p50) == (by_c > 0.0)


@pytest.mark.parametrize("by_c", [-2.0, 2.0])
def test_with_a_probe_a_spot_draws_the_core_toward_it_and_moves_the_pull(by_c: float) -> None:
    now = CROSS_S - 100.0
    before = told(HEADER, EVENTS, [now])[0]
    assert before.core_c is not None
    assert before.pull_in_s is not None
    spot = Spot(now, "left", before.core_c + by_c)
    after = told(HEADER, [*(e for e in EVENTS if e.t <= now), spot], [now + 0.01])[0]
    assert after.core_c is not None
    assert after.pull_in_s is not None
    share = (after.core_c - before.core_c) / by_c
    assert 0.1 < share < 1.0
    assert (after.pull_in_s.p50 < before.pull_in_s.p50) == (by_c > 0.0)


@pytest.mark.parametrize("lead", [300.0, 120.0, 60.0])
def test_what_one_steak_shows_changes_the_other_only_modestly(lead: float) -> None:
    events, header = cooked(TWO)[0], TWO.header()
    now = crossing(TWO) - lead
    plain = told(header, events, [now])[0].pull_in_s
    assert plain is not None
    for per_second in (-0.02, 0.02):
        bent = reread(events, lambda r, k=per_second: _bent(r, k), 100.0)  # type: ignore[misc]
        other = told(header, bent, [now])[0].pull_in_s
        assert other is not None
        assert abs(other.p50 - plain.p50) < 0.25 * (plain.p90 - plain.p10)


def _bent(reading: Reading, per_second: float) -> Reading:
    if reading.steak != "right":
        return reading
    return replace(reading, celsius=reading.celsius + per_second * (reading.t - 100.0))


def test_before_its_own_core_moves_a_steak_learns_of_the_fire_from_the_other() -> None:
    events, header = cooked(TWO)[0], TWO.header()
    now = crossing(TWO) - 250.0
    lone = [e for e in events if not (isinstance(e, Reading) and e.steak == "right")]
    both, alone = (told(header, given, [now])[0].pull_in_s for given in (events, lone))
    assert both is not None
    assert alone is not None
    assert both != alone


def test_the_same_events_give_the_same_bytes() -> None:
    times = [float(t) for t in range(0, 1000, 20)]
    assert repr(told(HEADER, EVENTS, times)) == repr(told(HEADER, EVENTS, times))


def test_a_copy_goes_on_as_the_original_would_and_apart_from_it() -> None:
    engine, half = ForecastEngine(HEADER), len(EVENTS) // 2
    for event in EVENTS[:half]:
        engine.update(event)
    now = EVENTS[half].t
    copy, before = deepcopy(engine), engine.forecast("left", now)
    for event in EVENTS[half:]:
        engine.update(event)
    assert copy.forecast("left", now) == before
    for event in EVENTS[half:]:
        copy.update(event)
    later = EVENTS[-1].t + 1.0
    assert repr(copy.forecast("left", later)) == repr(engine.forecast("left", later))


def test_asking_changes_nothing_that_is_told_later() -> None:
    asked = [t / 2.0 for t in range(2000)]
    seldom = [CROSS_S - 60.0, CROSS_S + 60.0]
    often = told(HEADER, EVENTS, sorted([*asked, *seldom]))
    assert [f for f in often if f.t in seldom] == told(HEADER, EVENTS, seldom)


def test_readings_that_cannot_be_are_left_out() -> None:
    odd = [math.nan, math.inf, -math.inf, -300.0, 900.0]
    broken = list[Event]()
    for number, event in enumerate(EVENTS):
        broken.append(event)
        if isinstance(event, Reading) and number % 7 == 0:
            broken.append(replace(event, t=event.t + 0.01, celsius=odd[number % 5]))
            broken.append(replace(event, t=event.t - 5.0, celsius=20.0))  # late, out of order
            broken.append(Spot(event.t, "left", odd[number % 5]))
    engine, now = ForecastEngine(HEADER), CROSS_S - 100.0
    for event in broken:
        if event.t < now:
            engine.update(event)
    assert engine.forecast("left", now) == told(HEADER, EVENTS, [now])[0]


@pytest.mark.parametrize("seed", range(8))
def test_wrong_and_odd_marks_never_raise_and_never_give_nonsense(seed: int) -> None:
    rng = Random(seed)
    marks = list[Event]()
    for _ in range(25):
        t = rng.uniform(0.0, 900.0)
        steak = rng.choice(("left", None, "nobody"))
        at = rng.choice((None, None, max(0.0, t - rng.uniform(0.0, 60.0))))
        marks.append(Mark(t, steak, rng.choice(list(MarkKind)), at=at))
    spots: list[Event] = [Spot(rng.uniform(0.0, 900.0), "left", rng.uniform(0, 90)) for _ in "abc"]
    readings = [e for e in EVENTS if isinstance(e, Reading) and round(e.t) % 3 == 0]
    events = sorted([*readings, *marks, *spots], key=lambda e: e.t)
    assert all(makes_sense(f) for f in told(HEADER, events, [float(t) for t in range(0, 950, 10)]))


def test_a_probe_put_in_late_takes_over_from_what_was_guessed() -> None:
    late = reread(EVENTS, lambda r: None if r.t < 400.0 else r, 0.0)
    unread, read = told(HEADER, late, [390.0, CROSS_S - 60.0])
    assert unread.note is not None
    assert "no probe" in unread.note
    assert read.pull_in_s is not None
    assert read.pull_in_s.p10 - 10.0 <= 60.0 <= read.pull_in_s.p90 + 10.0
