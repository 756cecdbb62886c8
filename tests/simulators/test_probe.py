"""Leave-in and hand-held probes."""

from itertools import pairwise
from math import log
from random import Random
from statistics import fmean, pstdev

import pytest

from pullcall.simulators.probe import Probe, ProbeSettings, SpotReader, quantised

PERFECT = ProbeSettings(
    lag_s=1.0, resolution_c=0.0, noise_c=0.0, interval_s=0.05, jitter_s=0.0
)  # fmt: skip


def follow(
    probe: Probe, celsius: float, seconds: float, tick: float = 0.5
) -> list[tuple[float, float]]:
    readings: list[tuple[float, float]] = []
    for n in range(round(seconds / tick)):
        readings += probe.follow(n * tick, (n + 1) * tick, celsius)
    return readings


def test_it_lags_as_the_published_sensor_does() -> None:
    # Source: Incropera, Example 5.1: time constant 1 s, 25 to 199 C in gas at 200 C takes 5.2 s
    # (ln 175 = 5.165).
    readings = follow(Probe(PERFECT, 25.0, Random(1)), 200.0, 8.0, tick=0.01)
    reached = next(t for t, celsius in readings if celsius >= 199.0)
    assert reached == pytest.approx(log(175.0), abs=0.06)  # one interval and one tick


def test_its_figures_are_multiples_of_its_resolution() -> None:
    readings = follow(Probe(ProbeSettings(resolution_c=0.5), 20.0, Random(1)), 60.0, 30.0)
    assert all((celsius * 2.0).is_integer() for _, celsius in readings)
    assert len({celsius for _, celsius in readings}) > 20


def test_its_noise_and_offset_are_the_stated_ones() -> None:
    # 4,000 values: the mean is known to 0.003, the sd to 1.1 %; three standard errors.
    settings = ProbeSettings(resolution_c=0.0, noise_c=0.2, offset_c=0.7)
    values = [c for _, c in follow(Probe(settings, 50.0, Random(2)), 50.0, 2000.0)]
    assert fmean(values) == pytest.approx(50.7, abs=0.01)
    assert pstdev(values) == pytest.approx(0.2, rel=0.034)


def test_it_reads_at_its_interval_within_its_jitter() -> None:
    readings = follow(Probe(ProbeSettings(jitter_s=0.1), 50.0, Random(2)), 50.0, 500.0)
    times = [t for t, _ in readings]
    waits = [b - a for a, b in pairwise(times)]
    assert len(times) == pytest.approx(1000, abs=10)
    assert 0.4 <= min(waits) < 0.45
    assert 0.55 < max(waits) <= 0.6 + 1e-9


def test_it_has_gaps_and_spikes_only_when_asked_for() -> None:
    quiet = follow(Probe(ProbeSettings(), 50.0, Random(4)), 50.0, 1000.0)
    settings = ProbeSettings(gap_chance=0.01, gap_s=6.0, spike_chance=0.01, spike_c=8.0)
    rough = follow(Probe(settings, 50.0, Random(4)), 50.0, 1000.0)
    assert max(abs(c - 50.0) for _, c in quiet) < 0.5
    spikes = [c for _, c in rough if abs(c - 50.0) > 3.5]
    assert 5 <= len(spikes) <= 40
    assert max(abs(c - 50.0) for c in spikes) < 8.5
    gaps = [b - a for (a, _), (b, _) in pairwise(rough) if b - a > 5.0]
    assert 5 <= len(gaps) <= 40


def test_a_hand_held_probe_never_leaves_the_steak() -> None:
    reader, rng = SpotReader(miss_mm=30.0), Random(1)
    depths = [reader.depth_mm(32.0, rng) for _ in range(200)]
    assert min(depths) == 1.0
    assert max(depths) == 31.0


def test_a_hand_held_probe_shows_the_meat_within_its_noise() -> None:
    reader, rng = SpotReader(noise_c=0.3, resolution_c=0.1), Random(1)
    figures = [reader.figure(48.0, rng) for _ in range(2000)]
    assert fmean(figures) == pytest.approx(48.0, abs=0.021)  # three standard errors
    assert pstdev(figures) == pytest.approx(0.3, rel=0.05)


@pytest.mark.parametrize(
    ("celsius", "resolution", "shown"),
    [
        (53.96, 0.1, 54.0),
        (53.94, 0.1, 53.9),
        (53.8, 0.5, 54.0),
        (-4.23, 0.1, -4.2),
        (1.23, 0, 1.23),
    ],
)
def test_quantising_rounds_to_the_nearest_step(
    celsius: float, resolution: float, shown: float
) -> None:
    assert quantised(celsius, resolution) == shown
