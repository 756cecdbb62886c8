"""Sound to WAV and back."""

from __future__ import annotations

import io
import wave

import numpy as np
import pytest

from pullcall.outlets.wav import RATE_HZ, from_wav, joined, seconds_of, silence, to_wav


def test_a_wav_file_gives_back_the_samples_it_was_made_of() -> None:
    samples = np.array([0, 1, -1, 32767, -32768], dtype=np.int16)
    assert from_wav(to_wav(samples)).tolist() == samples.tolist()


def test_a_wav_file_says_it_is_mono_of_16_bits() -> None:
    with wave.open(io.BytesIO(to_wav(silence(1.0)))) as file:
        assert (file.getnchannels(), file.getsampwidth()) == (1, 2)
        assert file.getnframes() / file.getframerate() == pytest.approx(1.0)


def test_another_rate_keeps_length_and_pitch() -> None:
    rate, hertz = 16_000, 440.0
    tone = np.round(10_000 * np.sin(2 * np.pi * hertz * np.arange(rate) / rate)).astype("<i2")
    out = io.BytesIO()
    with wave.open(out, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(rate)
        file.writeframes(tone.tobytes())
    heard = from_wav(out.getvalue())
    assert seconds_of(heard) == pytest.approx(1.0, abs=1e-3)
    strength = np.abs(np.fft.rfft(heard))
    assert np.argmax(strength) * RATE_HZ / len(heard) == pytest.approx(hertz, abs=1.0)


def test_a_length_in_the_header_that_a_pipe_could_not_know_is_not_believed() -> None:
    content = bytearray(to_wav(np.arange(100, dtype=np.int16)))
    content[4:8] = content[40:44] = (0x7FFFF000).to_bytes(4, "little")
    assert from_wav(bytes(content)).tolist() == list(range(100))


@pytest.mark.parametrize("content", [b"", b"RIFF", b"no sound at all, only words of some length"])
def test_what_is_no_wav_file_is_refused(content: bytes) -> None:
    with pytest.raises(ValueError, match="not a"):
        from_wav(content)


def test_parts_are_joined_with_gaps_between_them_only() -> None:
    parts = [np.ones(10, dtype=np.int16), np.ones(10, dtype=np.int16)]
    whole = joined(parts, gap_s=10 / RATE_HZ)
    assert whole.tolist() == [1] * 10 + [0] * 10 + [1] * 10
    assert len(joined([])) == 0


@pytest.mark.parametrize("rate", [0, 1, 3_999, 192_001, 2**32 - 1])
def test_a_rate_that_makes_hours_of_a_moment_is_refused(rate: int) -> None:
    whole = bytearray(to_wav(silence(0.1)))
    whole[24:28] = rate.to_bytes(4, "little")  # where the canonical header has it
    with pytest.raises(ValueError, match="WAV"):
        from_wav(bytes(whole))


def test_a_part_that_leads_out_of_the_file_is_refused() -> None:
    whole = to_wav(silence(0.01)).replace(b"fmt ", b"LIST")
    at = whole.index(b"LIST") + 4
    with pytest.raises(ValueError, match="not a WAV file"):
        from_wav(whole[:at] + b"\xff\xff\xff\xff" + whole[at + 4 :])
