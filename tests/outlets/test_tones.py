"""Tones held against the page's own figures and the spectrum of what would be heard."""

from __future__ import annotations

import itertools
import re
from pathlib import Path

import numpy as np
import pytest

from pullcall.outlets.tones import (
    HARMONICS,
    PATTERNS,
    SITE_HZ,
    STEAK_HZ,
    burst_tone,
    insistent_tone,
    pitches,
)
from pullcall.outlets.wav import RATE_HZ, Samples, seconds_of

PAGE = (Path(__file__).parents[2] / "api/pullcall/api/page/sound.js").read_text()
ORDER = ("left", "right")


def numbers(text: str) -> list[float]:
    return [float(number) for number in re.findall(r"\d+(?:\.\d+)?", text)]


def pulse_ranges(sound: Samples, quiet_s: float = 0.04) -> list[tuple[int, int]]:
    """Where the sound is, as sample ranges set apart by at least ``quiet_s`` of silence."""
    loud = np.flatnonzero(np.abs(sound.astype(int)) > 50)
    breaks = np.flatnonzero(np.diff(loud) > quiet_s * RATE_HZ)
    starts = [loud[0], *loud[breaks + 1]]
    ends = [*loud[breaks], loud[-1]]
    return [(int(a), int(b) + 1) for a, b in zip(starts, ends, strict=True)]


def spectrum(sound: Samples) -> tuple[np.ndarray, np.ndarray]:
    """Frequencies and magnitudes, finely spaced by padding with zeros."""
    padded = 8 * RATE_HZ
    windowed = sound * np.hanning(len(sound))
    return np.fft.rfftfreq(padded, 1 / RATE_HZ), np.abs(np.fft.rfft(windowed, padded))


def pitch_of(sound: Samples) -> float:
    """The lowest strong component, in hertz: the fundamental is the strongest of these tones."""
    hertz, strength = spectrum(sound)
    return float(hertz[np.argmax(strength)])


@pytest.mark.parametrize("priority, pulses", [(1, 5), (2, 3), (3, 2)])
def test_each_priority_has_its_number_of_pulses(priority: int, pulses: int) -> None:
    assert len(pulse_ranges(burst_tone(priority, (STEAK_HZ[0],)))) == pulses


def test_the_more_urgent_burst_has_faster_pulses() -> None:
    def pace(priority: int) -> float:
        first, second = pulse_ranges(burst_tone(priority, (262.0,)))[:2]
        return (second[0] - first[0]) / RATE_HZ

    assert pace(1) < pace(2) < pace(3)


def test_the_least_urgent_burst_is_the_softest() -> None:
    peaks = [np.abs(burst_tone(p, (262.0,)).astype(int)).max() for p in (1, 2, 3)]
    assert peaks[0] > peaks[1] > peaks[2]


@pytest.mark.parametrize("priority", [1, 2, 3])
@pytest.mark.parametrize("hertz", [*STEAK_HZ, SITE_HZ])
def test_a_pulse_has_the_pitch_of_its_steak_and_four_harmonics_or_more(
    priority: int, hertz: float
) -> None:
    sound = burst_tone(priority, (hertz,))
    start, end = pulse_ranges(sound)[0]
    # A window of 0.14 s resolves about 14 Hz; its peak lies far closer.
    assert pitch_of(sound[start:end]) == pytest.approx(hertz, abs=2.0)
    # 150-1000 Hz and at least four harmonics: ideas of IEC 60601-1-8, known from secondary texts.
    assert 150.0 <= hertz <= 1000.0
    frequencies, strength = spectrum(sound[start:end])
    fundamental = strength.max()
    found = [
        n
        for n in range(2, 7)
        if strength[np.abs(frequencies - n * hertz) < 5.0].max() > 0.1 * fundamental
    ]
    assert len(found) >= 4


def test_two_steaks_alternate_from_pulse_to_pulse() -> None:
    sound = burst_tone(1, pitches(("right", "left"), ORDER))
    heard = [pitch_of(sound[a:b]) for a, b in pulse_ranges(sound)]
    low, high = STEAK_HZ
    assert heard == pytest.approx([low, high, low, high, low], abs=2.0)


def test_the_second_steak_is_higher_and_what_concerns_no_steak_has_its_own_pitch() -> None:
    assert pitches(("left",), ORDER) < pitches(("right",), ORDER)
    assert pitches((), ORDER) == (SITE_HZ,)
    assert pitches(("somebody else's",), ORDER) == (SITE_HZ,)
    assert SITE_HZ not in STEAK_HZ


@pytest.mark.parametrize("priority", [1, 2, 3])
@pytest.mark.parametrize("hertz", [(262.0,), (587.0,), (415.0,), (262.0, 587.0)])
def test_no_burst_clips_or_clicks(priority: int, hertz: tuple[float, ...]) -> None:
    sound = burst_tone(priority, hertz) / 32768.0
    assert np.abs(sound).max() < 1.0
    for start, end in pulse_ranges(burst_tone(priority, hertz)):
        # A click is a step at an edge: the first and last millisecond stay far below the rest.
        edge = round(0.001 * RATE_HZ)
        loudest = np.abs(sound[start:end]).max()
        assert np.abs(sound[start : start + edge]).max() < 0.15 * loudest
        assert np.abs(sound[end - edge : end]).max() < 0.15 * loudest


def test_an_insistent_tone_has_no_silence_longer_than_a_third_of_a_second() -> None:
    sound = insistent_tone(1, (262.0,), 5.0)
    assert seconds_of(sound) >= 5.0
    ranges = pulse_ranges(sound)
    silences = [b[0] - a[1] for a, b in itertools.pairwise(ranges)]
    assert max(silences) / RATE_HZ < 0.35


def test_the_page_and_the_loudspeaker_sound_alike() -> None:
    [lanes] = re.findall(r"LANE_HZ = \[(.*?)\]", PAGE)
    [site] = re.findall(r"SITE_HZ = (\d+)", PAGE)
    [harmonics] = re.findall(r"HARMONICS = \[(.*?)\]", PAGE)
    assert tuple(numbers(lanes)) == STEAK_HZ
    assert float(site) == SITE_HZ
    assert tuple(numbers(harmonics)[1:]) == HARMONICS
    for priority, pattern in PATTERNS.items():
        [row] = re.findall(rf"^\s+{priority}: \[(\[.*\])\],?$", PAGE, re.MULTILINE)
        assert numbers(row) == [n for pulse in pattern.pulses for n in pulse]
