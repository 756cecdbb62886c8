"""``python -m pullcall.api.silence``: writes the silence that the page plays again and again.

Without an audio element that plays, the ring switch of some phones mutes the page's tones.
"""

from __future__ import annotations

import io
import wave
from pathlib import Path

FILE = Path(__file__).parent / "page" / "silence.wav"
#: The lowest rate that browsers are sure to play, samples a second.
_RATE_HZ = 8000
#: Half way between the lowest and the highest value of an unsigned sample.
_SILENT = 0x80
#: Short, because every phone loads it, seconds.
_LASTS_S = 0.25


def content() -> bytes:
    """A WAV file, mono, 8 bit."""
    out = io.BytesIO()
    with wave.open(out, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(1)
        file.setframerate(_RATE_HZ)
        file.writeframes(bytes([_SILENT]) * round(_LASTS_S * _RATE_HZ))
    return out.getvalue()


if __name__ == "__main__":
    FILE.write_bytes(content())
