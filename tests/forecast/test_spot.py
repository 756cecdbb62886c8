"""A hand-held spot against a mixture of normal densities computed with scipy."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from pullcall.forecast.members import Members
from pullcall.forecast.slab import Array
from pullcall.forecast.spot import (
    _MISTAKE,
    _MISTAKE_OVER_C,
    _NEAR_SURFACE,
    _PLACES,
    SPOT_SIGMA_C,
    SpotReading,
    read_spot,
)
from pullcall.forecast.weighted import weights_of

T = 420.0


@pytest.fixture(scope="module")
def members() -> Members:
    cooking = Members(0, 0.030, 8.0, has_probe=False, on_board=False)
    cooking.put_on(0.0)
    cooking.flip(240.0)
    return cooking


def unmissed(members: Members) -> Array:
    return np.zeros(members.count)


def middle(members: Members) -> Array:
    return members.at_depth(members.cells_c(T), 0.0)


def read(members: Members, celsius: float) -> SpotReading:
    return read_spot(members, unmissed(members), T, celsius)


def test_places_are_all_there_is_and_symmetric() -> None:
    assert sum(share for _, share in _PLACES) == pytest.approx(1.0)
    assert dict(_PLACES) == {-place: share for place, share in _PLACES}


def test_the_likelihood_is_that_of_a_mixture_over_the_places(members: Members) -> None:
    celsius = float(np.median(middle(members))) + 2.0
    cells = members.cells_c(T)
    density = _MISTAKE / _MISTAKE_OVER_C + sum(
        share * stats.norm.pdf(celsius, members.at_depth(cells, place), SPOT_SIGMA_C)
        for place, share in _PLACES
    )
    # A constant common to all members says nothing and is left out.
    found = read(members, celsius).log_likelihood
    expected = np.log(density)
    kept = expected > -500.0
    differ = (found - expected)[kept]
    assert np.ptp(differ) < 1e-9


def test_the_chance_of_a_miss_is_bayes_rule_over_the_places(members: Members) -> None:
    celsius = float(np.median(middle(members))) + 6.0
    cells = members.cells_c(T)
    joint = np.array(
        [
            share * stats.norm.pdf(celsius, members.at_depth(cells, place), SPOT_SIGMA_C)
            for place, share in _PLACES
        ]
    )
    outer = np.array([abs(place) >= _NEAR_SURFACE for place, _ in _PLACES])
    total = joint.sum(axis=0)
    kept = total > 1e-200
    expected = joint[outer].sum(axis=0)[kept] / total[kept]
    assert read(members, celsius).near_surface[kept] == pytest.approx(expected, abs=1e-9)


def test_members_whose_middle_it_meets_are_the_likely_ones(members: Members) -> None:
    cores = middle(members)
    celsius = float(np.median(cores))
    found = read(members, celsius).log_likelihood
    near = np.abs(cores - celsius) < 0.5
    far = np.abs(cores - celsius) > 6.0
    assert near.any()
    assert far.any()
    assert np.median(found[near]) > np.median(found[far]) + 2.0


def test_a_hot_spot_is_taken_for_one_near_the_surface_and_a_fitting_one_is_not(
    members: Members,
) -> None:
    cores = middle(members)
    cells = members.cells_c(T)
    outer = np.maximum(members.at_depth(cells, 0.22), members.at_depth(cells, -0.22))
    # The member whose middle is the median one.
    typical = int(np.argsort(cores)[len(cores) // 2])
    assert outer[typical] > cores[typical] + 4.0
    assert read(members, float(cores[typical])).near_surface[typical] < 0.3
    assert read(members, float(outer[typical])).near_surface[typical] > 0.7


def test_a_hot_spot_surprises_less_than_if_it_were_the_middle(members: Members) -> None:
    cores = middle(members)
    typical = int(np.argsort(cores)[len(cores) // 2])
    found = read(members, float(cores[typical]) + 8.0)
    assert abs(found.surprise[typical]) < 4.0


def test_what_a_member_is_known_to_miss_is_taken_off_first(members: Members) -> None:
    celsius = float(np.median(middle(members)))
    shifted = read_spot(members, np.full(members.count, 3.0), T, celsius + 3.0)
    plain = read(members, celsius)
    assert shifted.log_likelihood == pytest.approx(plain.log_likelihood, abs=1e-9)
    assert shifted.surprise == pytest.approx(plain.surprise, abs=1e-9)


def test_a_figure_mistyped_leaves_the_members_nearly_as_they_were(members: Members) -> None:
    found = read(members, float(np.median(middle(members))) + 45.0)
    weights = weights_of(found.log_likelihood)
    # Kish's effective number of members, of as many as there are.
    assert 1.0 / np.sum(weights**2) > 0.25 * len(weights)
    assert weights @ found.mistaken > 0.9


def test_the_chance_of_a_mistake_is_bayes_rule_too(members: Members) -> None:
    celsius = float(np.median(middle(members))) + 6.0
    cells = members.cells_c(T)
    taken = sum(
        share * stats.norm.pdf(celsius, members.at_depth(cells, place), SPOT_SIGMA_C)
        for place, share in _PLACES
    )
    flat = _MISTAKE / _MISTAKE_OVER_C
    assert read(members, celsius).mistaken == pytest.approx(flat / (flat + taken), abs=1e-9)
