"""The chance against exact distributions; the samples are fixed, so a figure never flickers."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pullcall.events import MarkKind, Quantiles, Range
from pullcall.plan.chance import SAMPLES, SURE, quantiles, share_by, shares, sure_by
from pullcall.plan.live import live_plan
from pullcall.plan.progress import Progress, SteakProgress
from pullcall.plan.steps import NAMES
from tests.plan.days import LEFT, RIGHT, cook, minutes, nothing_but


def sum_of_two(x: float, a: Range, b: Range) -> float:
    """The exact distribution of the sum of two uniform ranges: the share of the rectangle of
    both lengths below the line that adds up to ``x`` (elementary: a trapezium's area)."""

    def corner(z: float) -> float:
        return max(0.0, z) ** 2 / 2.0

    area = (
        corner(x - a.low_s - b.low_s)
        - corner(x - a.high_s - b.low_s)
        - corner(x - a.low_s - b.high_s)
        + corner(x - a.high_s - b.high_s)
    )
    return area / ((a.high_s - a.low_s) * (b.high_s - b.low_s))


def four_errors(share: float) -> float:
    """Four binomial standard errors: one fixed seed in 16,000 would lie outside by chance."""
    return 4.0 * math.sqrt(share * (1.0 - share) / SAMPLES) + 1e-9


@pytest.mark.parametrize(
    ("a", "b"),
    [(minutes(8, 12), minutes(7, 10)), (minutes(5, 6), minutes(0, 20)), (minutes(4, 8),) * 2],
    ids=["trapezium", "wide trapezium", "triangle"],
)
@pytest.mark.parametrize("share", [0.02, 0.1, 0.35, 0.5, 0.8, 0.97])
def test_the_chance_is_the_distribution_of_a_sum_of_two_ranges(
    a: Range, b: Range, share: float
) -> None:
    closes = a.low_s + b.low_s + share * (a.high_s - a.low_s + b.high_s - b.low_s)
    header = cook(nothing_but(cook=a, rest=b), (LEFT,))
    exact = sum_of_two(closes, a, b)
    plan = live_plan(0.0, (0.0, closes), header, Progress())
    assert plan.chance == pytest.approx(exact, abs=four_errors(exact))


def test_either_of_two_steaks_will_do_and_both_give_a_choice() -> None:
    # Each alike and on its own: 1 - (1 - p)^2 for the first, p^2 for both.
    header = cook(nothing_but(cook=minutes(8, 12)), (LEFT, RIGHT))
    plan = live_plan(0.0, (0.0, 9.0 * 60), header, Progress())
    assert plan.chance == pytest.approx(1 - 0.75**2, abs=four_errors(1 - 0.75**2))
    assert plan.choice == pytest.approx(0.25**2, abs=four_errors(0.25**2))


def test_slack_and_last_moment_leave_ninety_percent_exactly() -> None:
    header = cook(nothing_but(cook=minutes(8, 12), rest=minutes(7, 10)), (LEFT,))
    plan = live_plan(0.0, (0.0, 3600.0), header, Progress())
    assert plan.slack_s is not None
    at_last = live_plan(plan.slack_s, (0.0, 3600.0), header, Progress())
    just_after = live_plan(plan.slack_s + 1.0, (0.0, 3600.0), header, Progress())
    assert at_last.chance == pytest.approx(SURE)
    assert at_last.slack_s == pytest.approx(0.0, abs=1e-6)
    assert just_after.chance is not None
    assert just_after.chance < SURE
    # Nothing else takes time, so the last moment to put it on is the same.
    assert plan.last_on_t["left"] == pytest.approx(plan.slack_s)
    # The exact ninetieth percentile: the upper triangle's last tenth, sqrt(2 x 0.1 x 4 x 3) min
    # below the longest day of 22 min.
    exact = 3600.0 - 60.0 * (22.0 - math.sqrt(2 * 0.1 * 4 * 3))
    assert plan.slack_s == pytest.approx(exact, abs=15.0)


def test_a_forecast_leads_to_its_own_quantiles() -> None:
    header = cook(nothing_but(), (LEFT,))
    on = SteakProgress("left", on_t=0.0, pull_in_s=Quantiles(100.0, 160.0, 190.0))
    plan = live_plan(400.0, (0.0, 500.0), header, Progress(steaks=(on,)))
    assert plan.chance == pytest.approx(0.1, abs=four_errors(0.1))
    plan = live_plan(400.0, (0.0, 560.0), header, Progress(steaks=(on,)))
    assert plan.chance == pytest.approx(0.5, abs=four_errors(0.5))


def test_the_same_days_are_drawn_at_every_call_and_cannot_be_changed() -> None:
    one = shares(("left", "right"))
    assert one is shares(("left", "right"))
    with pytest.raises(ValueError, match="read-only"):
        one.of["rest", "left"][0] = 0.5


@given(st.lists(st.floats(0, 1e4), min_size=20, max_size=60), st.floats(0, 1e4))
def test_share_and_sure_moment_agree(values: list[float], closes: float) -> None:
    moments = np.array(values)
    assert (share_by(moments, closes) >= SURE) == (sure_by(moments) <= closes)
    found = quantiles(moments)
    assert found.p10 <= found.p50 <= found.p90


ranges = st.tuples(st.integers(0, 1800), st.integers(0, 1800)).map(
    lambda pair: Range(float(min(pair)), float(max(pair)))
)
durations = st.fixed_dictionaries(dict.fromkeys(NAMES, ranges))
progresses = st.sampled_from(
    [
        Progress(),
        Progress({MarkKind.LIT: -600.0}),
        Progress({MarkKind.SEASONED: -1000.0, MarkKind.POURED: -300.0}),
        Progress(steaks=(SteakProgress("left", on_t=-300.0),)),
        Progress(steaks=(SteakProgress("left", on_t=-800.0, off_t=-100.0),)),
    ]
)


def chance(
    own: dict[str, Range], now: float, closes: float, progress: Progress, offset: float = 0.0
) -> float:
    header = cook(own, (LEFT, RIGHT), offset_s=offset)
    found = live_plan(now, (closes - 900.0, closes), header, progress).chance
    assert found is not None
    return found


@settings(max_examples=60)
@given(
    durations,
    st.sampled_from(NAMES),
    st.integers(0, 900),
    st.integers(0, 900),
    st.integers(900, 9000),
    progresses,
)
def test_a_longer_duration_never_raises_the_chance(
    own: dict[str, Range], name: str, low: int, high: int, closes: int, progress: Progress
) -> None:
    old = own[name]
    longer = {**own, name: Range(old.low_s + min(low, high), old.high_s + max(low, high))}
    assert chance(longer, 0.0, closes, progress) <= chance(own, 0.0, closes, progress)


@settings(max_examples=60)
@given(durations, st.integers(0, 4000), st.integers(0, 4000), st.integers(900, 9000))
def test_with_nothing_done_the_chance_only_falls(
    own: dict[str, Range], now: int, later: int, closes: int
) -> None:
    before = chance(own, float(now), closes, Progress())
    assert chance(own, float(now + later), closes, Progress()) <= before


@settings(max_examples=60)
@given(durations, st.integers(0, 1800), st.integers(900, 9000))
def test_a_later_window_never_lowers_the_chance(
    own: dict[str, Range], later: int, closes: int
) -> None:
    before = chance(own, 0.0, closes, Progress())
    assert chance(own, 0.0, closes + later, Progress()) >= before


def test_a_forecast_vaguer_than_the_usual_range_waits_its_turn() -> None:
    header = cook({}, (LEFT,))
    vague = SteakProgress("left", on_t=0.0, pull_in_s=Quantiles(360.0, 500.0, 3500.0))
    unknown = SteakProgress("left", on_t=0.0)
    at = [
        live_plan(60.0, (0.0, 3600.0), header, Progress(steaks=(one,))) for one in (vague, unknown)
    ]
    assert at[0].hand_in_t == at[1].hand_in_t
