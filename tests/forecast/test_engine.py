"""The engine on curves whose crossing is known in closed form, and on odd data.

The slab figures are those of a one-term heated slab or of elementary curves; nothing is a
measured cook.
"""

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pullcall.events import (
    CookHeader,
    Forecast,
    Mark,
    MarkKind,
    Quantiles,
    Reading,
    Setting,
    Spot,
    SteakSettings,
)
from pullcall.forecast.engine import ForecastEngine

PULL_C = 54.0
HEADER = CookHeader(
    "test",
    "2026-06-13T13:40:00Z",
    (SteakSettings("left", pull_c=PULL_C), SteakSettings("right", pull_c=PULL_C)),
)


def straight(t: float) -> float:
    """5 C/min from 20 C: 54 C at 408 s."""
    return 20.0 + t * 5.0 / 60.0


def relaxing(t: float) -> float:
    """One-term slab toward a 100 C surface, time constant 700 s: 54 C at 440.5 s."""
    return 100.0 - 86.3 * float(np.exp(-t / 700.0))


def s_shaped(t: float) -> float:
    """Flat, then fast, then slower: logistic from 5 to 75 C, 54 C at 433.2 s."""
    return 5.0 + 70.0 / (1.0 + float(np.exp(-(t - 330.0) / 121.7)))


CURVES: dict[Callable[[float], float], float] = {
    straight: 408.0,
    relaxing: 700.0 * float(np.log(86.3 / 46.0)),
    s_shaped: 330.0 + 121.7 * float(np.log(49.0 / 21.0)),
}


def fed(
    curve: Callable[[float], float], until: float, noise: float = 0.1, seed: int = 1
) -> ForecastEngine:
    """An engine that has read ``curve`` every second, rounded to 0.1 C."""
    rng = np.random.default_rng(seed)
    engine = ForecastEngine(HEADER)
    engine.update(Mark(0.0, None, MarkKind.ON))
    for t in np.arange(0.5, until, 1.0).tolist():
        value = round(curve(t) + rng.normal(0.0, noise), 1)
        engine.update(Reading(t, "left", value))
    return engine


def pull_of(forecast: Forecast) -> Quantiles:
    assert forecast.pull_in_s is not None, forecast.why
    return forecast.pull_in_s


@pytest.mark.parametrize("curve", CURVES, ids=lambda c: c.__name__)
@pytest.mark.parametrize(("lead", "within"), [(60.0, 8.0), (40.0, 4.0), (20.0, 2.5)])
def test_the_crossing_of_a_known_curve_is_forecast(
    curve: Callable[[float], float], lead: float, within: float
) -> None:
    now = CURVES[curve] - lead
    pulls = [pull_of(fed(curve, now, seed=s).forecast("left", now)) for s in range(10)]
    assert np.median([p.p50 for p in pulls]) == pytest.approx(lead, abs=within)
    assert sum(p.p10 <= lead <= p.p90 for p in pulls) >= 7


def test_the_core_and_its_rise_are_told_with_the_forecast() -> None:
    forecast = fed(straight, 300.0).forecast("left", 300.0)
    assert forecast.core_c == pytest.approx(straight(300.0), abs=0.15)
    assert forecast.rise_c_per_min == pytest.approx(5.0, abs=0.6)
    assert forecast.rise_window_s is not None
    assert 10.0 <= forecast.rise_window_s <= 80.0


def test_spikes_move_the_crossing_by_less_than_its_band() -> None:
    clean, spiky = fed(straight, 360.0), fed(straight, 340.0)
    rng = np.random.default_rng(1)
    rng.normal(size=340)  # the same noise as the clean series from here on
    for t in np.arange(340.5, 360.0, 1.0).tolist():
        value = round(straight(t) + rng.normal(0.0, 0.1), 1)
        spiky.update(Reading(t, "left", value + (25.0 if int(t) % 7 == 0 else 0.0)))
    a, b = (pull_of(e.forecast("left", 360.0)) for e in (clean, spiky))
    assert abs(a.p50 - b.p50) < 0.5 * (a.p90 - a.p10)


def test_a_moved_probe_is_forecast_from_its_new_place_within_seconds() -> None:
    engine = fed(straight, 300.0)
    rng = np.random.default_rng(2)
    for t in np.arange(300.5, 312.0, 1.0).tolist():
        engine.update(Reading(t, "left", round(straight(t) - 5.0 + rng.normal(0.0, 0.1), 1)))
    moved, still = engine.forecast("left", 312.0), fed(straight, 312.0).forecast("left", 312.0)
    assert moved.core_c == pytest.approx(straight(312.0) - 5.0, abs=0.3)
    # Five degrees lower at five degrees a minute: a minute later, and less sure.
    assert pull_of(moved).p50 == pytest.approx(CURVES[straight] - 312.0 + 60.0, rel=0.2)
    assert pull_of(moved).p90 - pull_of(moved).p10 > pull_of(still).p90 - pull_of(still).p10


def test_in_a_gap_the_forecast_counts_on_and_its_band_widens() -> None:
    engine = fed(straight, 330.0)
    before, during = (pull_of(engine.forecast("left", t)) for t in (330.0, 365.0))
    assert before.p50 - during.p50 == pytest.approx(35.0, abs=0.2)
    # Nearer the pull a live probe is surer; the same probe fallen silent is not.
    live = pull_of(fed(straight, 365.0).forecast("left", 365.0))
    assert during.p90 - during.p10 > 1.5 * (live.p90 - live.p10)


def test_a_probe_silent_too_long_is_not_carried_on() -> None:
    forecast = fed(straight, 200.0).forecast("left", 314.5)
    assert forecast.pull_in_s is None
    assert forecast.why == "no reading for 115 s"


def test_before_it_can_tell_it_says_why() -> None:
    assert ForecastEngine(HEADER).forecast("left", 5.0).why == "no probe: tap in a spot"
    assert fed(straight, 7.0).forecast("left", 7.0).why == "only 6 s of readings"
    assert fed(lambda t: 5.0, 60.0).forecast("left", 60.0).why == "not rising yet"
    assert fed(lambda t: 45.0, 60.0).forecast("left", 60.0).why == "not rising"
    assert fed(lambda t: 50.0 - t / 20.0, 60.0).forecast("left", 60.0).why == "falling"


def test_a_core_past_its_pull_is_due_now_even_if_it_stalls() -> None:
    pull = pull_of(fed(lambda t: min(straight(t), 55.0), 500.0).forecast("left", 500.0))
    assert (pull.p10, pull.p50, pull.p90) == (0.0, 0.0, 0.0)


@pytest.mark.parametrize("now", np.arange(100.0, 500.0, 25.0).tolist())
def test_no_forecast_lies_in_the_past(now: float) -> None:
    pull = pull_of(fed(straight, now, noise=0.3).forecast("left", now))
    assert 0.0 <= pull.p10 <= pull.p50 <= pull.p90


def test_the_band_covers_four_crossings_in_five_or_a_few_more() -> None:
    inside = [
        (lambda p: p.p10 <= 40.0 <= p.p90)(
            pull_of(fed(relaxing, CURVES[relaxing] - 40.0, 0.25, s).forecast("left", 400.5))
        )
        for s in range(60)
    ]
    assert np.mean(inside) >= 0.8


def test_noise_widens_the_band() -> None:
    quiet, noisy = (pull_of(fed(straight, 350.0, n).forecast("left", 350.0)) for n in (0.05, 0.5))
    assert noisy.p90 - noisy.p10 > 1.3 * (quiet.p90 - quiet.p10)


def test_a_turn_widens_the_band_until_it_is_felt() -> None:
    turned, left_alone = fed(straight, 300.0), fed(straight, 300.0)
    turned.update(Mark(300.0, "left", MarkKind.TURN))
    after, as_before = (pull_of(e.forecast("left", 301.0)) for e in (turned, left_alone))
    assert after.p50 == as_before.p50
    assert after.p90 - after.p10 > 1.2 * (as_before.p90 - as_before.p10)


def test_a_mark_for_all_steaks_is_every_steaks() -> None:
    engine = fed(straight, 300.0)
    for t in np.arange(0.75, 300.0, 1.0).tolist():
        engine.update(Reading(t, "right", straight(t)))
    assert engine.forecast("right", 300.0).pull_in_s is not None
    engine.update(Mark(300.0, None, MarkKind.OFF))
    for steak in ("left", "right"):
        forecast = engine.forecast(steak, 301.0)
        assert forecast.pull_in_s is None
        assert forecast.why is None
        assert forecast.core_c is not None


def test_a_later_pull_temperature_is_met_later() -> None:
    engine = fed(straight, 300.0)
    before = pull_of(engine.forecast("left", 300.0)).p50
    engine.update(Setting(300.0, "left", "pull_c", PULL_C + 2.0))
    assert 20.0 < pull_of(engine.forecast("left", 300.0)).p50 - before < 40.0


def test_the_same_events_give_the_same_forecast_and_asking_changes_nothing() -> None:
    asked, fresh = fed(relaxing, 300.0), fed(relaxing, 300.0)
    first = [repr(asked.forecast("left", t)) for t in (250.0, 300.0, 330.0)]
    assert first == [repr(asked.forecast("left", t)) for t in (250.0, 300.0, 330.0)]
    assert first == [repr(fresh.forecast("left", t)) for t in (250.0, 300.0, 330.0)]


def test_at_rest_the_peak_stands_where_the_core_turned() -> None:
    def resting(t: float) -> float:
        """Rises to a peak of 58 C at 400 s, a parabola after the pull at 300 s."""
        return straight(t) + 8.83 if t < 300.0 else 58.0 - ((t - 400.0) / 100.0) ** 2 * 4.17

    engine = fed(resting, 300.0)
    engine.update(Mark(300.0, "left", MarkKind.OFF))
    rng = np.random.default_rng(9)
    for t in np.arange(300.5, 520.0, 1.0).tolist():
        engine.update(Reading(t, "left", round(resting(t) + rng.normal(0.0, 0.1), 1)))
    peak = engine.forecast("left", 520.0).peak_c
    assert peak is not None
    assert peak.p50 == pytest.approx(58.0, abs=0.15)
    assert peak.p10 <= 58.0 <= peak.p90


def with_spots(*spots: tuple[float, float]) -> ForecastEngine:
    engine = ForecastEngine(HEADER)
    engine.update(Mark(0.0, None, MarkKind.ON))
    for t, celsius in spots:
        engine.update(Spot(t, "left", celsius))
    return engine


def test_one_spot_asks_for_another() -> None:
    assert with_spots((300.0, 40.0)).forecast("left", 300.0).why == "only one spot: tap in another"


def test_two_spots_give_a_forecast_with_a_wide_band() -> None:
    now = 380.0
    spots = with_spots((300.0, straight(300.0)), (now, straight(now)))
    by_spots = pull_of(spots.forecast("left", now))
    assert by_spots.p10 <= CURVES[straight] - now <= by_spots.p90
    by_probe = pull_of(fed(straight, now).forecast("left", now))
    assert by_spots.p90 - by_spots.p10 > 2.0 * (by_probe.p90 - by_probe.p10)


def test_spots_serve_while_the_probe_is_silent() -> None:
    engine = fed(straight, 150.0)
    engine.update(Spot(300.0, "left", straight(300.0)))
    assert engine.forecast("left", 300.0).why == "no reading for 150 s"
    engine.update(Spot(340.0, "left", straight(340.0)))
    assert engine.forecast("left", 345.0).pull_in_s is not None


def test_old_spots_ask_for_another() -> None:
    why = with_spots((300.0, 30.0), (350.0, 33.0)).forecast("left", 700.0).why
    assert why == "no spot for 350 s: tap in another"


TIMES = st.floats(allow_nan=True, allow_infinity=True)
NAMES = st.sampled_from(["left", "right", "stranger"])
MAYBE = st.one_of(st.none(), NAMES)
EVENTS = st.one_of(
    st.builds(Reading, st.floats(0, 200), MAYBE, st.floats(-45, 160)),
    st.builds(Reading, TIMES, MAYBE, TIMES),
    st.builds(Spot, st.floats(0, 20000), NAMES, st.floats(-45, 160)),
    st.builds(Mark, st.floats(0, 200), MAYBE, st.sampled_from(MarkKind)),
    st.builds(
        Setting,
        st.floats(0, 200),
        MAYBE,
        st.sampled_from(["pull_c", "start_c", "channel", "strange"]),
        st.one_of(st.none(), st.text(max_size=3), st.floats(allow_nan=True)),
    ),
)


@settings(max_examples=150, deadline=None)
@given(st.lists(EVENTS, max_size=40), st.floats(0, 400))
def test_odd_data_never_raises_and_never_forecasts_the_past(
    events: list[Reading | Spot | Mark | Setting], now: float
) -> None:
    engine = ForecastEngine(HEADER)
    for event in sorted(events, key=lambda e: e.t):
        engine.update(event)
    forecast = engine.forecast("left", now)
    if forecast.pull_in_s is not None:
        assert 0 <= forecast.pull_in_s.p10 <= forecast.pull_in_s.p50 <= forecast.pull_in_s.p90
    if forecast.peak_c is not None:
        assert forecast.peak_c.p10 <= forecast.peak_c.p50 <= forecast.peak_c.p90
