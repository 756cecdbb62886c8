"""Sound as 16-bit mono samples, and as WAV files."""

from __future__ import annotations

import io
import wave
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

#: Samples of one channel at :data:`RATE_HZ`.
Samples = npt.NDArray[np.int16]
#: Samples a second of everything that is played.
RATE_HZ = 22_050
#: Rates that a program for speech writes; another would make hours of a moment's words.
_RATES_HZ = range(4_000, 192_001)


def silence(seconds: float) -> Samples:
    """That many seconds of nothing."""
    return np.zeros(round(seconds * RATE_HZ), dtype=np.int16)


def seconds_of(samples: Samples) -> float:
    """How long ``samples`` sound."""
    return len(samples) / RATE_HZ


def joined(parts: Sequence[Samples], gap_s: float = 0.0) -> Samples:
    """The parts one after another, ``gap_s`` apart."""
    spaced: list[Samples] = []
    for part in parts:
        spaced += [silence(gap_s), part] if spaced else [part]
    return np.concatenate(spaced) if spaced else silence(0.0)


def to_wav(samples: Samples) -> bytes:
    """A whole WAV file."""
    out = io.BytesIO()
    with wave.open(out, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(RATE_HZ)
        file.writeframes(samples.astype("<i2").tobytes())
    return out.getvalue()


def from_wav(content: bytes) -> Samples:
    """The samples of a 16-bit mono WAV file, at :data:`RATE_HZ` whatever its own rate.

    A program that writes to a pipe cannot know the length beforehand, so lengths in the header
    are not relied on. Raises ValueError for anything else.
    """
    try:
        with wave.open(io.BytesIO(content)) as file:
            form = (file.getnchannels(), file.getsampwidth())
            rate, frames = file.getframerate(), file.readframes(file.getnframes())
    except (wave.Error, EOFError, RuntimeError) as exc:  # the last: a part that leads elsewhere
        raise ValueError(f"not a WAV file ({exc})") from exc
    if form != (1, 2) or rate not in _RATES_HZ:
        raise ValueError("not a 16-bit mono WAV file of a usual rate")
    samples = np.frombuffer(frames[: len(frames) // 2 * 2], dtype="<i2").astype(np.int16)
    return samples if rate == RATE_HZ else _resampled(samples, rate)


def _resampled(samples: Samples, rate_hz: int) -> Samples:
    """Straight lines between samples: good enough for speech."""
    moments = np.arange(round(len(samples) * RATE_HZ / rate_hz)) * (rate_hz / RATE_HZ)
    between: npt.NDArray[np.float64] = np.interp(moments, np.arange(len(samples)), samples)
    return np.round(between).astype(np.int16)
