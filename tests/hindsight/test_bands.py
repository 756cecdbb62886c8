"""The band of the pull, widened or narrowed by how past pulls fell."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from random import Random
from statistics import fmean

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binomtest

from pullcall.events import CookHeader, Lessons, Quantiles, SteakSettings
from pullcall.hindsight.bands import LEADS_S, LEAST, MOST, Band, band, is_chance, shrunk
from pullcall.hindsight.facts import CookFacts, FireFacts, LeadScore, SteakFacts

#: p90 of a standard normal figure.
P90 = 1.2816


def pull(cook: str, errors_s: Sequence[float], in_force: float = 1.0) -> CookFacts:
    """A cook of one steak whose truths lay ``errors_s`` after a middle with ten seconds on both
    sides, at sixty, forty and twenty seconds."""
    leads = tuple(
        LeadScore(lead, 0.0, Quantiles(lead - 10.0, lead, lead + 10.0), lead + error, 0.0, 0.0)
        for lead, error in zip(LEADS_S, errors_s, strict=True)
    )
    header = CookHeader(cook, "", (SteakSettings("left"),), lessons=Lessons(band=in_force))
    steak = SteakFacts("left", header.steaks[0], leads=leads)
    return CookFacts(cook, header, 0.0, (steak,), FireFacts())


def alike(errors_s: Sequence[float]) -> list[CookFacts]:
    """Pulls that were as far off at every lead."""
    return [pull(f"c{n}", [error] * 3) for n, error in enumerate(errors_s)]


def drawn(rng: Random, count: int, too_narrow: float) -> list[float]:
    """Errors that a band of ten seconds to each side would hold eight times in ten, times
    ``too_narrow``."""
    return [rng.gauss(0.0, 10.0 / P90) * too_narrow for _ in range(count)]


def test_a_pull_counts_once_by_the_middle_of_its_leads() -> None:
    found = band([pull("c1", [2.0, -5.0, 40.0])])
    assert [(e.cook, e.steak, e.score) for e in found.evidence] == [("c1", "left", 0.5)]


def test_each_side_of_the_band_is_measured_by_its_own_width() -> None:
    cook = pull("c1", [0.0] * 3)
    lead = LeadScore(40.0, 0.0, Quantiles(38.0, 40.0, 60.0), 50.0, 0.0, 0.0)
    steak = replace(cook.steaks[0], leads=(lead,))
    assert band([replace(cook, steaks=(steak,))]).evidence[0].score == pytest.approx(0.5)
    early = replace(lead, true_in_s=30.0)
    steak = replace(cook.steaks[0], leads=(early,))
    assert band([replace(cook, steaks=(steak,))]).evidence[0].score == pytest.approx(5.0)


def test_what_a_lesson_had_widened_is_measured_by_the_width_before() -> None:
    assert band([pull("c1", [10.0] * 3, in_force=2.0)]).evidence[0].score == pytest.approx(2.0)


def test_seven_pulls_are_too_few_to_judge_by() -> None:
    found = band(alike([50.0] * 7))
    assert (found.factor, found.count, found.found) == (1.0, 7, None)
    assert "7 of the 8" in found.words


def test_the_quantile_is_that_of_split_conformal_prediction() -> None:
    """Of nine scores the ceil(10 x 0.8) = 8th; of twenty the ceil(21 x 0.8) = 17th."""
    for count, rank in ((9, 8), (20, 17)):
        found = band(alike([10.0 * n for n in range(1, count + 1)]))
        assert found.found == pytest.approx(rank)


@given(st.integers(0, 60), st.data())
def test_chance_is_told_by_the_exact_binomial_test(count: int, data: st.DataObject) -> None:
    covered = data.draw(st.integers(0, count))
    if count:
        assert is_chance(covered, count) == (binomtest(covered, count, 0.8).pvalue > 0.10)


def test_a_band_that_holds_about_what_it_should_is_left_as_it_is() -> None:
    found = band(alike([5.0] * 15 + [15.0] * 5))
    assert (found.factor, found.covered, found.count) == (1.0, 15, 20)
    assert (
        found.words
        == "the band held 15 of your 20 pulls, meant are 16: as good as meant, left as it is"
    )


def test_a_band_that_holds_too_little_becomes_wider_and_one_that_holds_all_narrower() -> None:
    wide = band(alike([5.0] * 10 + [20.0] * 10))
    assert 1.3 < wide.factor < 2.0 == wide.found
    assert wide.words.endswith(f"{wide.factor:.2f} times as wide")
    narrow = band(alike([4.0] * 20))
    assert narrow.found == pytest.approx(0.4)
    assert 0.4 < narrow.factor < 0.7


@given(st.floats(1e-6, 1e6), st.integers(8, 500))
def test_few_pulls_change_less_than_many_and_no_band_goes_past_its_limits(
    found: float, count: int
) -> None:
    few, many = shrunk(found, count), shrunk(found, 2 * count)
    assert LEAST <= few <= MOST
    assert abs(few - 1.0) <= abs(many - 1.0) + 1e-9
    assert (few - 1.0) * (found - 1.0) >= 0.0


def coverage(found: Band, rng: Random, too_narrow: float) -> float:
    """The share of further pulls that the band as changed holds."""
    return fmean(abs(error) <= 10.0 * found.factor for error in drawn(rng, 2000, too_narrow))


def mended(too_narrow: float, pulls: int) -> float:
    """The share that bands hold after so many pulls, over forty cooks."""
    rng = Random(f"mend/{too_narrow}/{pulls}")
    bands = [band(alike(drawn(rng, pulls, too_narrow))) for _ in range(40)]
    return fmean(coverage(found, rng, too_narrow) for found in bands)


@pytest.mark.parametrize(("too_narrow", "before"), [(0.55, 0.98), (1.6, 0.58), (2.0, 0.48)])
def test_the_share_held_is_mended_on_pulls_like_the_past_ones(
    too_narrow: float, before: float
) -> None:
    """Thirty pulls leave some of it to chance and to shrinking, more of them next to nothing."""
    unchanged = Band(1.0, 0, 0, None, "", ())
    rng = Random(f"before/{too_narrow}")
    assert coverage(unchanged, rng, too_narrow) == pytest.approx(before, abs=0.05)
    assert abs(mended(too_narrow, 30) - 0.8) < 0.5 * abs(before - 0.8)
    assert mended(too_narrow, 200) == pytest.approx(0.8, abs=0.03)


def test_pulls_that_fall_as_told_change_next_to_nothing() -> None:
    """The test is right nine times in ten at least, and where it errs the change is small."""
    rng = Random("as told")
    bands = [band(alike(drawn(rng, 30, 1.0))) for _ in range(200)]
    assert fmean(found.factor == 1.0 for found in bands) >= 0.85
    assert fmean(coverage(found, rng, 1.0) for found in bands) == pytest.approx(0.8, abs=0.02)
    assert all(0.6 < found.factor < 1.6 for found in bands)
