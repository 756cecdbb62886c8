"""Whether the time of day can be trusted, and whether it jumped."""

from __future__ import annotations

import ctypes
from datetime import datetime
from typing import Protocol

#: The wall clock moving against the monotonic one by more than this is a jump, seconds.
JUMP_S = 2.0
#: What adjtimex(2) answers while no network or radio has set the clock (linux/timex.h).
_TIME_ERROR = 5
#: More than struct timex takes on any machine, bytes; all zero asks and changes nothing.
_TIMEX_BYTES = 512


class Trust(Protocol):
    """Says whether something outside this machine keeps its clock right."""

    def __call__(self) -> bool:
        """True while the clock is kept right."""


def kernel_trusts() -> bool:
    """Whether the kernel counts its clock as synchronised; False where it cannot be asked."""
    try:
        libc = ctypes.CDLL(None, use_errno=True)
        state: int = libc.adjtimex(ctypes.create_string_buffer(_TIMEX_BYTES))
    except (OSError, AttributeError):
        return False
    return state not in (-1, _TIME_ERROR)


class WallWatch:
    """Compares the wall clock with the monotonic one, look by look."""

    def __init__(self) -> None:
        self._apart: float | None = None

    def jumped(self, wall: datetime, monotonic: float) -> bool:
        """Whether the wall clock jumped since the last look."""
        apart = wall.timestamp() - monotonic
        before, self._apart = self._apart, apart
        return before is not None and abs(apart - before) > JUMP_S
