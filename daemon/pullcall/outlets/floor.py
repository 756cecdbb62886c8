"""Who has the floor: which burst sounds, which waits, and which cuts in."""

from __future__ import annotations

from dataclasses import dataclass

from pullcall.events import Call
from pullcall.outlets.outlet import Burst, urgency_of

#: A burst that has waited longer than this is out of date and no longer sounded, seconds.
STALE_S = 5.0
#: Bursts that may wait; past it the oldest of the least urgent goes.
_LONGEST = 8


@dataclass(frozen=True, slots=True)
class Waiting:
    """A burst and when it was announced, real monotonic seconds."""

    burst: Burst
    since: float


class Floor:
    """Decides, with no clock and no sound of its own.

    The most urgent waiting burst is next, among equals the oldest. A burst cuts in where what
    sounds is less urgent; or as urgent, and has said the words of its most urgent calls; or has
    said all its words and only insists.
    """

    def __init__(self) -> None:
        self._waiting: list[Waiting] = []
        self._sounding: Burst | None = None
        self._insisting: set[str] = set()
        self._said_urgent_words = self._said_its_words = False

    def add(self, burst: Burst, now: float) -> tuple[Burst, ...]:
        """Let a burst wait; returns the bursts dropped for it.

        A call that still waits and is announced again waits as announced last.
        """
        ids = {call.id for call in burst}
        superseded = [call for w in self._waiting for call in w.burst if call.id in ids]
        for id in ids:
            self._forget(id)
        self._waiting.append(Waiting(burst, now))
        dropped: list[Burst] = [(call,) for call in superseded if call not in burst]
        if len(self._waiting) > _LONGEST:
            least = max(self._waiting, key=lambda w: (urgency_of(w.burst), -w.since))
            self._waiting.remove(least)
            dropped.append(least.burst)
        return tuple(dropped)

    def take(self, now: float) -> tuple[Burst | None, tuple[Burst, ...]]:
        """The burst to sound next, and those that have waited too long."""
        stale = tuple(w.burst for w in self._waiting if now - w.since > STALE_S)
        self._waiting = [w for w in self._waiting if now - w.since <= STALE_S]
        if not self._waiting:
            return None, stale
        chosen = min(self._waiting, key=lambda w: (urgency_of(w.burst), w.since))
        self._waiting.remove(chosen)
        return chosen.burst, stale

    def begin(self, burst: Burst) -> None:
        """``burst`` sounds from now on."""
        self._sounding = burst
        self._insisting = {call.id for call in burst if call.insistent}
        self._said_urgent_words = self._said_its_words = False

    def said_urgent_words(self) -> None:
        """The words of its most urgent calls are over: from here its equals may cut in."""
        self._said_urgent_words = True

    def said_words(self) -> None:
        """The words of what sounds are over: from here it only insists."""
        self._said_its_words = True

    def end(self) -> None:
        """Nothing sounds any more."""
        self._sounding = None
        self._insisting = set()

    @property
    def insists(self) -> bool:
        """Whether what sounds goes on after its words."""
        return bool(self._insisting)

    @property
    def must_yield(self) -> bool:
        """Whether what sounds has to stop now."""
        if self._sounding is None:
            return False
        if self._said_its_words and (self._waiting or not self.insists):
            return True
        bar = urgency_of(self._sounding) + self._said_urgent_words
        return any(urgency_of(w.burst) < bar for w in self._waiting)

    def silence(self, call_id: str) -> None:
        """A call was answered or has cleared: it does not insist, nor wait any more."""
        self._insisting.discard(call_id)
        self._forget(call_id)

    def _forget(self, call_id: str) -> None:
        """Take one call out of what waits."""
        left = [(w, _without(w.burst, call_id)) for w in self._waiting]
        self._waiting = [Waiting(burst, w.since) for w, burst in left if burst]


def _without(burst: Burst, call_id: str) -> tuple[Call, ...]:
    return tuple(call for call in burst if call.id != call_id)
