"""A core that is fed what was logged: where it fails is known, and is no riddle of a traceback."""

from __future__ import annotations

import math

from pullcall.core.cook import Cook, Effect
from pullcall.errors import PullcallError
from pullcall.events import CookHeader, Input


class CoreFailedError(PullcallError):
    """The core failed at ``t`` cook seconds: as it took ``event``, or (None) as a second passed."""

    def __init__(self, t: float, event: Input | None, mistake: Exception) -> None:
        self.t = t
        self.event = event
        self.why = type(mistake).__name__
        super().__init__(
            f"The calls were stopped by a mistake ({self.why}) at {t:g} s of the cook: start "
            f"Pullcall again."
        )


def begin(header: CookHeader) -> Cook:
    """A core at the beginning. Raises CoreFailedError."""
    try:
        return Cook(header)
    except Exception as mistake:
        raise CoreFailedError(0.0, None, mistake) from mistake


def take(core: Cook, event: Input) -> list[Effect]:
    """What follows from one input, and from every second before it. Raises CoreFailedError."""
    try:
        return core.apply(event)
    except Exception as mistake:
        if core.next_tick < math.ceil(event.t):
            raise CoreFailedError(core.next_tick, None, mistake) from mistake
        raise CoreFailedError(event.t, event, mistake) from mistake


def run(core: Cook, until: float) -> list[Effect]:
    """What follows from every second up to ``until``. Raises CoreFailedError."""
    try:
        return core.advance(until)
    except Exception as mistake:
        raise CoreFailedError(core.next_tick, None, mistake) from mistake
