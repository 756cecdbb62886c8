"""What must hold of whatever comes of hostile bytes."""

from __future__ import annotations

import json
import math
from typing import Any

from pullcall.sources.decoding.value import PLAUSIBLE_C, Refusal, Temperature, Verdict

#: A sentence for people is no longer than this, however long the input was.
_LONGEST_WORDS = 2000


def check_temperature(
    found: Temperature | Refusal, bounds: tuple[float, float] = PLAUSIBLE_C
) -> None:
    """A good value is finite and within bounds; what is none has no value."""
    if isinstance(found, Refusal):
        check_words(found.reason)
        return
    if found.celsius is not None:
        assert math.isfinite(found.celsius), found
    assert (found.celsius is None) == (found.verdict is Verdict.INVALID), found
    if found.good is not None:
        assert bounds[0] <= found.good <= bounds[1], found


def check_words(text: str) -> None:
    """Words for people can be written, and are not as long as what they complain of."""
    assert text
    assert len(text) <= _LONGEST_WORDS, f"{len(text)} characters of words"
    text.encode()


def check_json(value: Any) -> str:
    """It can be sent: JSON without NaN and without half a character."""
    line = json.dumps(value, ensure_ascii=False, allow_nan=False)
    line.encode()
    return line
