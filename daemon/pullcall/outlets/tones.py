"""Tones made here: the pitch says which steak, the burst pattern how urgent.

Patterns and the 150-1000 Hz range with at least four harmonics are inspired by the idea of
priority by burst pattern in IEC 60601-1-8 (read in secondary texts), not conforming to it. The
page makes the same pitches and patterns, so that a phone and the loudspeaker sound alike.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pullcall.outlets.wav import RATE_HZ, Samples, silence

#: Pitch by the steak's place in the cook: the first low, the second high, in hertz.
STEAK_HZ = (262.0, 587.0)
#: Pitch of what concerns no steak, in hertz.
SITE_HZ = 415.0
#: Relative strength of the first, second, ... harmonic.
HARMONICS = (1.0, 0.75, 0.55, 0.42, 0.3, 0.2)


@dataclass(frozen=True, slots=True)
class Pattern:
    """One priority's burst: ``pulses`` as (start, length), the ramps at both ends of a pulse
    that keep it free of clicks, and the silence before the burst comes again, all in seconds;
    ``level`` is the loudest sample, 1 being full scale."""

    pulses: tuple[tuple[float, float], ...]
    edge_s: float
    again_s: float
    level: float


#: How each priority sounds. Page and loudspeaker share the pulses.
PATTERNS = {
    1: Pattern(((0, 0.14), (0.2, 0.14), (0.4, 0.14), (0.78, 0.14), (0.98, 0.14)), 0.012, 0.3, 0.9),
    2: Pattern(((0, 0.2), (0.34, 0.2), (0.68, 0.2)), 0.02, 0.5, 0.75),
    3: Pattern(((0, 0.28), (0.6, 0.28)), 0.06, 1.0, 0.45),
}


def pitches(steaks: Sequence[str], order: Sequence[str]) -> tuple[float, ...]:
    """The pitches that alternate for ``steaks``, in hertz, given the cook's ``order`` of names."""
    places = sorted(order.index(steak) for steak in steaks if steak in order)
    return tuple(STEAK_HZ[place % len(STEAK_HZ)] for place in places) or (SITE_HZ,)


def burst_tone(priority: int, hertz: Sequence[float]) -> Samples:
    """One burst of ``priority`` (1 to 3): its pulses take the pitches ``hertz`` in turn."""
    pattern = PATTERNS[priority]
    last_start, last_length = pattern.pulses[-1]
    sound = np.zeros(_samples(last_start + last_length))
    for i, (start, length) in enumerate(pattern.pulses):
        pulse = _pulse(hertz[i % len(hertz)], length, pattern.edge_s)
        sound[_samples(start) :][: len(pulse)] = pulse[: len(sound) - _samples(start)]
    return np.round(sound * pattern.level * 32767).astype(np.int16)


def insistent_tone(priority: int, hertz: Sequence[float], seconds: float) -> Samples:
    """The burst again and again for at least ``seconds``, ending with its own short silence."""
    once = np.concatenate([burst_tone(priority, hertz), silence(PATTERNS[priority].again_s)])
    return np.tile(once, max(1, -(-_samples(seconds) // len(once))))


def _pulse(hertz: float, length_s: float, edge_s: float) -> npt.NDArray[np.float64]:
    """A pulse whose loudest sample before the ramps is 1."""
    t = np.arange(_samples(length_s)) / RATE_HZ
    numbers = np.arange(1, len(HARMONICS) + 1)
    wave: npt.NDArray[np.float64] = HARMONICS @ np.sin(2 * np.pi * hertz * np.outer(numbers, t))
    ramp = np.minimum(1.0, np.minimum(t, t[::-1]) / edge_s)
    return np.asarray(wave / np.max(np.abs(wave)) * ramp)


def _samples(seconds: float) -> int:
    return round(seconds * RATE_HZ)
