"""The slab through whole cooks: flipping, pulling, resting, and what a wet surface changes."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import brentq, minimize_scalar

from pullcall.forecast.slab import Course, Regime, place_weights

Array = NDArray[np.float64]


def one(value: float) -> Array:
    return np.array([value])


# Burger flipping: thickness, diffusivity and conductivity are 1; the hot plate is at 1, the air
# and the start are at 0; a burger is cooked when every point has once had .257.
HOT, AIR, COOKED = 21.6, 1.44, 0.257
BURGER_CELLS = 200
PLATE = Regime(one(HOT), one(AIR), one(1.0), BURGER_CELLS)


def on_the_plate(start: Array) -> Course:
    return Course(PLATE, start, one(1.0), one(0.0), one(0.0))


def with_faces(cells: Array) -> Array:
    """The cells and both faces, where what convects in conducts on over half a cell."""
    half = 2.0 * cells.shape[1]
    bottom = (HOT + half * cells[:, :1]) / (HOT + half)
    top = half * cells[:, -1:] / (AIR + half)
    return np.concatenate([bottom, cells, top], axis=1)


def moment_cooked(moments: Array, hottest: Array) -> float:
    """When the coldest point's highest temperature so far reaches COOKED; inf if never.

    :param hottest: one row per moment, one column per point.
    """
    least = np.maximum.accumulate(hottest, axis=0).min(axis=1)
    after = int(np.argmax(least >= COOKED))
    if after == 0:
        return float("inf")
    share = (COOKED - least[after - 1]) / (least[after] - least[after - 1])
    return float(moments[after - 1] + share * (moments[after] - moments[after - 1]))


def one_flip_total(first: float) -> float:
    """Total time with one flip after ``first``; before it every point only warms."""
    flipped = on_the_plate(np.zeros((1, BURGER_CELLS))).cells_c(first)
    had = with_faces(flipped)[:, ::-1]
    second, moments = on_the_plate(flipped[:, ::-1]), np.linspace(0.0, 0.1, 1001)
    profiles = np.concatenate([with_faces(second.cells_c(float(at))) for at in moments])
    return first + moment_cooked(moments, np.maximum(profiles, had))


def many_flips_total(interval: float) -> float:
    """Total time with a flip after every ``interval``."""
    cells = np.zeros((1, BURGER_CELLS))
    had = with_faces(cells)
    rows = [had[0]]
    while rows[-1].min() < COOKED:
        cells = on_the_plate(cells[:, ::-1]).cells_c(interval)
        had = np.maximum(had[:, ::-1], with_faces(cells))
        # Alternate rows are the other way up, which the least of a row does not see.
        rows.append(had[0])
    least = [float(row.min()) for row in rows]
    share = (COOKED - least[-2]) / (least[-1] - least[-2])
    return interval * (len(rows) - 2 + share)


def best_first_interval() -> float:
    coarse = np.linspace(0.02, 0.08, 25)
    rough = float(coarse[int(np.argmin([one_flip_total(float(at)) for at in coarse]))])
    found = minimize_scalar(
        one_flip_total, bounds=(rough - 0.0025, rough + 0.0025), method="bounded"
    )
    return float(found.x)


def test_one_flip_takes_the_published_time() -> None:
    """Thiffeault, "The mathematics of burger flipping", Physica D 439 (2022) 133410.

    Best one-flip total .0969 at a first interval of .0456; infinitely many flips .0754; one flip
    takes 1.285 times the limit. The total is so flat around its best that the first interval is
    not a sharp figure: this slab's lies near .0449, and .0456 costs 0.02 % more, which is less
    than the published total's last digit. So the totals are held, at both first intervals.
    """
    best = one_flip_total(best_first_interval())
    assert best == pytest.approx(0.0969, rel=0.005)
    assert one_flip_total(0.0456) == pytest.approx(0.0969, rel=0.005)
    assert one_flip_total(0.0456) == pytest.approx(best, rel=0.0005)
    assert one_flip_total(0.040) > 1.01 * best
    assert one_flip_total(0.052) > 1.01 * best
    assert best / many_flips_total(5e-5) == pytest.approx(1.285, rel=0.005)


def test_many_flips_approach_the_published_limit() -> None:
    """Thiffeault, Physica D 439 (2022) 133410: infinitely many flips .0754."""
    totals = [many_flips_total(interval) for interval in (4e-3, 1e-3, 2e-4, 5e-5)]
    assert totals == sorted(totals, reverse=True)
    assert totals[-1] == pytest.approx(0.0754, rel=0.005)


# A steak of 32 mm, its mid-plane pulled at 54 C.
THICK_M, CONDUCTIVITY, DIFFUSIVITY, PULL_C, FLIP_S = 0.032, 0.45, 1.3e-7, 54.0, 240.0


@dataclass(frozen=True, slots=True)
class Fire:
    """What a steak's two faces see: Biot numbers over the whole thickness and levels, C."""

    biot_bottom: float
    biot_top: float
    bottom_c: float
    top_c: float

    def course(self, start: Array) -> Course:
        rate = one(DIFFUSIVITY / THICK_M**2)
        regime = Regime(one(self.biot_bottom), one(self.biot_top), rate, start.shape[1])
        return Course(regime, start, one(self.bottom_c), one(self.top_c), one(0.0))


def film(watts: float) -> float:
    return watts * THICK_M / CONDUCTIVITY


DRY = Fire(film(70.0), film(15.0), 200.0, 60.0)
#: Evaporation holds the hot face near 100 C and the other below 70 C.
WET = Fire(9.0, 6.0, 120.0, 70.0)
REST = Fire(film(15.0), film(15.0), 25.0, 25.0)


def at_depth(course: Course, seconds: float, depth: float) -> float:
    cells_c = course.cells_c(seconds)
    return float((place_weights(one(depth), cells_c.shape[1]) * cells_c).sum())


def centre_c(course: Course, seconds: float) -> float:
    return at_depth(course, seconds, 0.5)


@dataclass(frozen=True, slots=True)
class Cook:
    """A steak flipped once, pulled and rested."""

    flip_c: float
    pull_s: float
    hot_face_c: float
    other_face_c: float
    slope: float
    peak_c: float
    peak_after_s: float


def as_it_is(cells_c: Array) -> Array:
    return cells_c


def flashed(cells_c: Array) -> Array:
    """The steak off the fire: its surface water flashes and takes the faces down to 80 C."""
    return np.minimum(cells_c, 80.0)


def cook(fire: Fire, cells: int, coming_off: Callable[[Array], Array] = as_it_is) -> Cook:
    first = fire.course(np.full((1, cells), 5.0))
    second = fire.course(first.cells_c(FLIP_S)[:, ::-1])
    after_flip = float(brentq(lambda at: centre_c(second, at) - PULL_C, 1.0, 3600.0))
    rest = REST.course(coming_off(second.cells_c(after_flip)))
    peak = minimize_scalar(lambda at: -centre_c(rest, at), bounds=(0.0, 1800.0), method="bounded")
    return Cook(
        flip_c=centre_c(first, FLIP_S),
        pull_s=FLIP_S + after_flip,
        hot_face_c=at_depth(second, after_flip, 0.0),
        other_face_c=at_depth(second, after_flip, 1.0),
        slope=centre_c(second, after_flip + 0.5) - centre_c(second, after_flip - 0.5),
        peak_c=-float(peak.fun),
        peak_after_s=float(peak.x),
    )


def test_a_flip_a_pull_and_a_rest_match_a_second_implementation() -> None:
    """A second implementation of the same slab, computed with scipy, not published."""
    steak = cook(DRY, cells=240)
    assert steak.flip_c == pytest.approx(7.878, abs=0.02)
    assert steak.pull_s == pytest.approx(1081.16, abs=0.3)
    assert steak.slope == pytest.approx(0.04598, abs=0.00001)
    assert steak.peak_c == pytest.approx(64.286, abs=0.02)
    assert steak.peak_after_s == pytest.approx(447.6, abs=0.3)


def test_a_wet_surface_brings_the_carry_over_down_to_what_cooks_know() -> None:
    """Common practice, no source: a steak of 1.25 in carries over about 5 F (2.8 K)."""
    dry = cook(DRY, cells=100)
    wet = cook(WET, cells=100)
    flashing = cook(WET, cells=100, coming_off=flashed)
    assert wet.hot_face_c == pytest.approx(100.0, abs=5.0)
    assert dry.hot_face_c > 120.0
    assert wet.other_face_c < 68.0
    assert dry.peak_c - PULL_C > 9.0
    assert 1.0 < flashing.peak_c - PULL_C < 6.0
    assert flashing.peak_c < wet.peak_c < dry.peak_c
