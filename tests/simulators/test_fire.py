"""The fire's heat-up, drift, wander and dips."""

from math import exp
from random import Random
from statistics import fmean, pstdev

import pytest

from pullcall.simulators.fire import Fire, FireSettings

CALM = FireSettings(settled_c=300.0, start_c=20.0, drift_c_per_min=0.0, wander_c=0.0)


def burn(fire: Fire, seconds: float, lid_open: bool = False) -> list[float]:
    track = []
    for _ in range(round(seconds / 0.5)):
        fire.step(0.5, lid_open)
        track.append(fire.grate_c)
    return track


def test_it_heats_up_as_a_first_order_lag() -> None:
    # Closed form: 300 - 280 exp(-t / 240).
    track = burn(Fire(CALM, Random(1)), 240.0)
    assert track[-1] == pytest.approx(300.0 - 280.0 * exp(-1.0), rel=1e-9)


def test_it_drifts_by_its_rate_once_it_has_settled() -> None:
    settings = FireSettings(drift_c_per_min=-2.0, wander_c=0.0)
    track = burn(Fire(settings, Random(1)), 3600.0)
    assert track[-1] - track[-121] == pytest.approx(-2.0, rel=1e-3)


def test_it_wanders_with_the_stated_spread_and_memory() -> None:
    # An Ornstein-Uhlenbeck process: sd 6, correlation exp(-dt / 90). 80,000 s are about 440
    # independent values: the sd is known to 4 %, so 12 % is three standard errors.
    settings = FireSettings(drift_c_per_min=0.0, wander_c=6.0, wander_s=90.0)
    track = burn(Fire(settings, Random(3)), 80_000.0)
    mean, spread = fmean(track), pstdev(track)
    assert spread == pytest.approx(6.0, rel=0.12)
    lagged = fmean((a - mean) * (b - mean) for a, b in zip(track, track[180:], strict=False))
    assert lagged / spread**2 == pytest.approx(exp(-1.0), abs=0.12)


def test_an_open_lid_dips_the_grate_and_a_closed_one_lets_it_recover() -> None:
    settings = FireSettings(drift_c_per_min=0.0, wander_c=0.0, lid_dip_c=30.0)
    fire = Fire(settings, Random(1))
    assert burn(fire, 60.0, lid_open=True)[-1] == pytest.approx(290.0 - 30.0, abs=0.3)
    assert burn(fire, 450.0)[-1] == pytest.approx(290.0, abs=0.01)


def test_the_same_seed_burns_the_same_and_another_does_not() -> None:
    tracks = [burn(Fire(FireSettings(), Random(seed)), 60.0) for seed in (5, 5, 6)]
    assert tracks[0] == tracks[1] != tracks[2]
