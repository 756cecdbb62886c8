"""One voice at a time: which of the wishes are said this second."""

from __future__ import annotations

import math
from collections.abc import Iterable

from pullcall.calls.rules import URGENT_GAP_S, VOICE_GAP_S
from pullcall.calls.wish import Wish


class Voice:
    """What is to be done within seconds comes first and joins into one burst; everything else
    waits its turn. A lesser wish rides along with an urgent burst, so that alarms that go on
    sounding never keep a turn or a flip from being called."""

    def __init__(self) -> None:
        self._spoke_t = -math.inf
        self._urgently = False

    def choose(self, wishes: Iterable[Wish], now: float) -> list[Wish]:
        """The burst of this second, most urgent first; empty for silence."""
        in_turn = sorted(wishes, key=lambda wish: (wish.priority, wish.since))
        urgent = [wish for wish in in_turn if wish.priority == 1]
        lesser = [wish for wish in in_turn if wish.priority > 1]
        if any(not wish.can_wait for wish in urgent):
            gap = URGENT_GAP_S if self._urgently else 0.0
            return self._speak([*urgent, *lesser[:1]], gap, now)
        return self._speak(lesser[:1], VOICE_GAP_S, now)

    def _speak(self, burst: list[Wish], gap: float, now: float) -> list[Wish]:
        if not burst or now - self._spoke_t < gap:
            return []
        self._spoke_t, self._urgently = now, burst[0].priority == 1
        return burst
