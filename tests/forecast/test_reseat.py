"""A moved probe is told from a spike, from a fast core and from noise."""

import numpy as np
import pytest

from pullcall.events import SteakSettings
from pullcall.forecast.reseat import SIDE, step_of
from pullcall.forecast.track import SteakTrack


def rising(n: int, every_s: float = 1.0, per_s: float = 0.08) -> list[tuple[float, float]]:
    return [(i * every_s, 30.0 + i * every_s * per_s) for i in range(n)]


def stepped(points: list[tuple[float, float]], by: float, last: int) -> list[tuple[float, float]]:
    return points[:-last] + [(t, c + by) for t, c in points[-last:]]


@pytest.mark.parametrize("by", [-8.0, -4.0, 4.0, 8.0])
@pytest.mark.parametrize("every_s", [0.5, 1.0])
def test_a_step_that_stays_is_measured_without_the_rise(by: float, every_s: float) -> None:
    points = stepped(rising(60, every_s), by, SIDE)
    assert step_of(points, 0.1) == pytest.approx(by, abs=0.02)


@pytest.mark.parametrize("last", range(1, SIDE))
def test_a_step_is_not_believed_before_enough_readings_agree(last: int) -> None:
    assert step_of(stepped(rising(60), 8.0, last), 0.1) == 0.0


def test_a_fast_core_is_not_a_step() -> None:
    assert step_of(rising(60, 2.0, per_s=0.25), 0.1) == 0.0


def test_noise_is_not_a_step() -> None:
    rng = np.random.default_rng(8)
    for _ in range(300):
        points = [(t, c + rng.normal(0.0, 0.4)) for t, c in rising(20, 0.5)]
        assert step_of(points, 0.4) == 0.0


def test_after_a_step_the_past_is_seen_from_the_new_place() -> None:
    track = SteakTrack(SteakSettings("left"))
    for i in range(80):
        track.read(float(i), 30.0 + 0.08 * i - (6.0 if i >= 70 else 0.0))
    t, celsius = track.readings.until(80.0)
    assert celsius == pytest.approx(24.0 + 0.08 * t, abs=0.05)
    assert track.disturbed_t == 74.0
