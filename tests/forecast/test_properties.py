"""What must hold of any forecast, whatever the steak."""

from __future__ import annotations

import math
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pullcall.events import Quantiles, Reading
from pullcall.forecast.engine import ForecastEngine
from pullcall.forecast.members import Members
from pullcall.forecast.prior import Draws, Taught, draw
from pullcall.forecast.residual import Residual
from pullcall.forecast.slab import Array
from pullcall.simulators.scenario import Scenario
from tests.forecast.cooks.small import GOOD, ONE, PULL_C, by_hand, cooked, crossing, scene, told

HEADER = ONE.header()
TIMES = np.arange(0.0, 1500.0, 10.0)
#: The acts after on that a member may go through: seconds after on, and which.
ACTS = st.lists(
    st.tuples(st.floats(20.0, 400.0), st.sampled_from(["flip", "baste", "lid", "lid shut"])),
    max_size=5,
)


@contextmanager
def fire(hotter_by: float, also_above: float) -> Iterator[None]:
    """Every member over a fire whose surface levels are hotter by so much, C."""

    def hotter(number: int, taught: Taught) -> Draws:
        plain = draw(number, taught)
        return plain | {
            "hot_level": plain["hot_level"] + hotter_by,
            "cool_level": plain["cool_level"] + also_above,
        }

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("pullcall.forecast.members.draw", hotter)
        yield


def shown(hotter_by: float, above: float, thick_m: float, acts: list[tuple[float, str]]) -> Array:
    with fire(hotter_by, above):
        members = Members(0, thick_m, 6.0, has_probe=True, on_board=False)
    members.put_on(0.0)
    rows = list[Array]()
    marks = [*sorted(acts), (math.inf, "")]
    for t in TIMES:
        while marks[0][0] <= t:
            act(members, *marks.pop(0))
        rows.append(members.shows_c(float(t)))
    return np.stack(rows, axis=1)


def act(members: Members, t: float, kind: str) -> None:
    if kind == "flip":
        members.flip(t)
    elif kind == "baste":
        members.baste(t)
    else:
        members.lid(t, is_open=kind == "lid")


@settings(max_examples=8)
@given(hotter=st.floats(0.0, 60.0), above=st.floats(0.0, 30.0), thick=st.floats(20, 45), acts=ACTS)
def test_over_a_hotter_surface_no_member_is_ever_cooler(
    hotter: float, above: float, thick: float, acts: list[tuple[float, str]]
) -> None:
    plain, hot = shown(0.0, 0.0, thick / 1000, acts), shown(hotter, above, thick / 1000, acts)
    # Where a mode's rate meets the probe's own, the solution is exact within 0.1 % of the excess.
    assert np.all(hot >= plain - 0.02)


@settings(max_examples=5)
@given(hotter=st.floats(0.5, 40.0), above=st.floats(0.0, 20.0))
def test_over_a_hotter_surface_the_pull_is_told_no_later(hotter: float, above: float) -> None:
    events = [e for e in cooked(ONE)[0] if e.t <= 20.0]  # the last of them is on

    def pull(by: float, over: float) -> Quantiles:
        with fire(by, over):
            found = told(HEADER, events, [40.0])[0].pull_in_s
        assert found is not None
        return found

    plain, hot = pull(0.0, 0.0), pull(hotter, above)
    for sooner, later in ((hot.p10, plain.p10), (hot.p50, plain.p50), (hot.p90, plain.p90)):
        assert sooner <= later + 0.1


@settings(max_examples=20)
@given(
    times=st.lists(st.floats(0.5, 100.0), min_size=1, max_size=30, unique=True),
    extra=st.lists(st.floats(0.5, 100.0), min_size=1, max_size=30, unique=True),
    noise=st.floats(0.05, 1.0),
)
def test_more_readings_never_make_the_filter_less_sure(
    times: list[float], extra: list[float], noise: float
) -> None:
    def sure(at: list[float]) -> Array:
        residual = Residual(1, 0.0)
        for t in sorted(at):
            residual.move(t)
            residual.learn(np.zeros(1), noise**2)
        residual.move(100.0)
        return residual.sd_at(np.arange(100.0, 400.0, 20.0))

    # What wanders in one long step and in two short ones agrees within a part in a hundred.
    assert np.all(sure(times + extra) <= 1.01 * sure(times))


@pytest.mark.parametrize("thick", [26.0, 36.0])
def test_denser_readings_of_the_same_core_never_widen_the_band(thick: float) -> None:
    clean = replace(GOOD, noise_c=0.0, resolution_c=0.0, interval_s=0.5, jitter_s=0.0)
    cook = replace(
        ONE, name=f"clean-{thick}", steaks=(scene("left", thick, clean),), lasts_s=1500.0
    )
    times = [crossing(cook) - lead for lead in range(250, 20, -20)]
    widths = np.array([widths_of(cook, times, every) for every in (8, 4, 2, 1)])
    # Some hundred members tell one quantile to a few per cent only; on average none may widen.
    assert np.all(widths[1:] <= 1.05 * widths[:-1] + 0.2)
    assert np.all(widths[-1] <= 1.05 * widths[0] + 0.2)
    assert np.all(np.diff(widths.mean(axis=1)) < 0.0)


def widths_of(cook: Scenario, times: list[float], every: int) -> list[float]:
    """Widths of the pull's band where only every so many-th reading comes."""
    events = cooked(cook)[0]
    readings = [e for e in events if isinstance(e, Reading)][::every]
    kept = [*(e for e in events if not isinstance(e, Reading)), *readings]
    bands = [f.pull_in_s for f in told(HEADER, sorted(kept, key=lambda e: e.t), times)]
    return [band.p90 - band.p10 for band in bands if band is not None]


@settings(max_examples=10)
@given(
    start=st.floats(0.0, 20.0),
    top=st.floats(40.0, 75.0),
    middle=st.floats(150.0, 600.0),
    slope=st.floats(30.0, 200.0),
    dip=st.floats(0.0, 10.0),
)
def test_no_pull_is_told_in_the_past_and_quantiles_are_in_order(
    start: float, top: float, middle: float, slope: float, dip: float
) -> None:
    def curve(t: float) -> float:
        sunk = dip if t > middle else 0.0
        return start + (top - start) / (1.0 + math.exp(-(t - middle) / slope)) - sunk

    engine = ForecastEngine(HEADER)
    for event in by_hand(curve, 800.0, every=4.0):
        engine.update(event)
        forecast = engine.forecast("left", event.t + 1.0)
        for band in (forecast.pull_in_s, forecast.peak_c, forecast.aim_c):
            assert band is None or band.p10 <= band.p50 <= band.p90
        if forecast.pull_in_s is not None:
            assert forecast.pull_in_s.p10 >= 0.0
            assert math.isfinite(forecast.pull_in_s.p90)
            assert forecast.core_c is not None
            # Well past the pull temperature, it is now.
            assert forecast.core_c < PULL_C + 2.0 or forecast.pull_in_s.p10 == 0.0
