"""The lid is seen in a dip of the grate's probe, and not in a fire that dies slowly."""

from __future__ import annotations

from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pullcall.proposals.lid import LidWatch
from pullcall.simulators.fire import Fire, FireSettings


def _watched(
    dip_c: float, seed: int, open_s: tuple[float, float] = (200.0, 230.0)
) -> tuple[list[float], list[float]]:
    """Moments of opening and closing seen in a simulated fire; the lid is open in ``open_s``."""
    rng = Random(seed)
    fire, watch = Fire(FireSettings(lid_dip_c=dip_c), rng), LidWatch()
    opened, closed = [], []
    for t in range(500):
        fire.step(1.0, open_s[0] <= t < open_s[1])
        up, down = watch.read(float(t), fire.grate_c + rng.gauss(0.0, 1.0))
        opened += [up.happened] if up else []
        closed += [down.happened] if down else []
    return opened, closed


@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize("dip_c", [60.0, 100.0])
def test_a_deep_dip_opens_and_closes_the_lid_once(dip_c: float, seed: int) -> None:
    opened, closed = _watched(dip_c, seed)
    assert opened == [pytest.approx(200.0, abs=12.0)]
    assert closed == [pytest.approx(230.0, abs=12.0)]


@pytest.mark.parametrize("seed", range(8))
def test_a_fire_with_the_lid_shut_is_left_alone(seed: int) -> None:
    assert _watched(60.0, seed, (900.0, 901.0)) == ([], [])


@given(st.floats(-80.0, 80.0))
def test_a_steady_trend_is_no_lid(c_per_min: float) -> None:
    watch = LidWatch()
    for t in range(300):
        assert watch.read(float(t), 500.0 + c_per_min * t / 60.0) == (None, None)
