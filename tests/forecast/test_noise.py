"""The noise estimate, against the noise that was put in (seeded, stated tolerances)."""

import numpy as np
import pytest

from pullcall.forecast.noise import ProbeNoise


def noise_of(t: np.ndarray, celsius: np.ndarray) -> ProbeNoise:
    noise = ProbeNoise()
    for at, value in zip(t.tolist(), celsius.tolist(), strict=True):
        noise.add(at, value)
    return noise


@pytest.mark.parametrize("sigma", [0.1, 0.2, 0.4])
def test_the_noise_put_on_a_steady_rise_is_found_again(sigma: float) -> None:
    rng = np.random.default_rng(1)
    t = np.arange(0.0, 200.0, 2.0)
    found = [
        noise_of(t, 20.0 + 0.08 * t + rng.normal(0.0, sigma, len(t))).sigma_c for _ in range(40)
    ]
    # 64 second differences: sd of one estimate about 15 %, of the mean of 40 about 2.5 %.
    assert np.mean(found) == pytest.approx(sigma, rel=0.08)


def test_uneven_times_do_not_pass_for_noise() -> None:
    rng = np.random.default_rng(2)
    t = np.cumsum(rng.choice([0.5, 1.0, 4.0], 100))
    assert noise_of(t, 10.0 + 0.2 * t).sigma_c == pytest.approx(0.05, abs=1e-9)


def test_spikes_do_not_pass_for_noise() -> None:
    rng = np.random.default_rng(3)
    t = np.arange(0.0, 128.0, 2.0)
    celsius = 20.0 + 0.08 * t + rng.normal(0.0, 0.1, len(t))
    celsius[[10, 25, 40, 55]] += 15.0
    assert noise_of(t, celsius).sigma_c == pytest.approx(0.1, rel=0.4)


@pytest.mark.parametrize("quantum", [0.1, 0.5, 5.0 / 9.0, 1.0])
def test_the_step_a_probe_rounds_to_is_found(quantum: float) -> None:
    rng = np.random.default_rng(4)
    t = np.arange(0.0, 120.0, 1.0)
    exact = 30.0 + 0.07 * t + rng.normal(0.0, 0.2, len(t))
    rounded = np.round(np.round(exact / quantum) * quantum, 3)
    assert noise_of(t, rounded).quantum_c == pytest.approx(quantum, abs=0.005)


def test_a_coarse_probe_is_never_believed_better_than_its_rounding() -> None:
    t = np.arange(0.0, 100.0, 0.5)
    coarse = np.round(40.0 + 0.05 * t)
    # A uniform rounding error of width q has sd q / sqrt(12) (elementary).
    assert noise_of(t, coarse).sigma_c >= 1.0 / np.sqrt(12.0) - 1e-9


def test_memory_is_bounded_however_long_the_cook() -> None:
    noise = ProbeNoise()
    for i in range(5000):
        noise.add(float(i), 20.0 + (i % 7) * 0.1)
    assert max(len(ring) for ring in (noise._bends, noise._steps, noise._last)) <= 64
