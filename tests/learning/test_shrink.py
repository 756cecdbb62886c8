"""One cook's own mean from few cooks, and how sure it is."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pullcall.learning.shrink import Observed, Usual, estimate

USUAL = Usual(10.0, between=2.0, within=1.0)
FIGURES = st.lists(st.floats(8.0, 12.0), min_size=1, max_size=8)


def many(value: float, count: int) -> list[Observed]:
    return [Observed(value)] * count


def test_without_any_cook_it_is_what_is_usual() -> None:
    found = estimate([], USUAL)
    assert (found.mean, found.sd, found.within) == (10.0, 2.0, 1.0)


def test_near_the_usual_it_is_the_normal_mean() -> None:
    """Two cooks at 10.5 and 11 against N(10, 2^2), each known to 1: the closed form."""
    found = estimate([Observed(10.5), Observed(11.0)], USUAL)
    closed = (10.0 / 4.0 + 10.5 + 11.0) / (1.0 / 4.0 + 2.0)
    assert found.mean == pytest.approx(closed, abs=0.01)
    assert found.sd == pytest.approx((1.0 / 4.0 + 2.0) ** -0.5, abs=0.01)


def test_one_cook_moves_less_than_five() -> None:
    means = [estimate(many(12.0, count), USUAL).mean for count in (0, 1, 3, 5)]
    assert means == sorted(means)
    assert means[3] > 11.7


def test_one_absurd_cook_has_next_to_no_say() -> None:
    usual = [Observed(11.0), Observed(10.8), Observed(11.2), Observed(10.9)]
    without = estimate(usual, USUAL).mean
    for absurd in (-300.0, 500.0):
        with_it = estimate([*usual, Observed(absurd)], USUAL)
        assert with_it.mean == pytest.approx(without, abs=0.15)
        assert with_it.weights[-1] < 0.01


def test_a_lone_absurd_cook_does_not_carry_the_next_one_away() -> None:
    assert estimate([Observed(500.0)], USUAL).mean == pytest.approx(10.0, abs=0.2)


def test_five_cooks_that_agree_are_believed_however_unusual() -> None:
    assert estimate(many(20.0, 5), USUAL).mean > 18.5


def test_a_cook_that_has_less_to_do_with_it_says_less() -> None:
    like, unlike = (estimate([Observed(12.0, share)], USUAL) for share in (1.0, 0.2))
    assert 10.0 < unlike.mean < like.mean
    assert unlike.sd > like.sd


def test_an_unsure_figure_says_less() -> None:
    sure, unsure = (estimate([Observed(12.0, sd=sd)], USUAL).mean for sd in (0.0, 3.0))
    assert 10.0 < unsure < sure


@given(FIGURES)
def test_it_lies_between_what_is_usual_and_what_was_seen(figures: list[float]) -> None:
    found = estimate([Observed(figure) for figure in figures], USUAL)
    assert min(*figures, 10.0) - 1e-9 <= found.mean <= max(*figures, 10.0) + 1e-9


@given(FIGURES)
def test_it_is_never_surer_than_the_data(figures: list[float]) -> None:
    found = estimate([Observed(figure) for figure in figures], USUAL)
    assert found.sd >= (1.0 / 4.0 + len(figures)) ** -0.5 - 1e-9
    assert found.next_sd == pytest.approx(math.hypot(found.sd, found.within))
    assert found.within >= USUAL.within / 2.0


def test_cooks_that_scatter_widen_the_spread_and_cooks_alike_narrow_it() -> None:
    scattered = estimate([Observed(v) for v in (7.0, 13.0, 8.0, 12.0, 10.0)], USUAL)
    alike = estimate(many(10.0, 5), USUAL)
    assert scattered.within > USUAL.within > alike.within
