"""When a planned turn or flip is called, with twins merged into one call."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from pullcall.calls import text
from pullcall.calls.rules import CALL_PRIORITY, TURN_LEADS_S, TURN_REMINDER_S, TWINS_S
from pullcall.calls.wish import Wish
from pullcall.core.steak import SteakState
from pullcall.events import CallKind

_SAYS_S = (*TURN_LEADS_S, -TURN_REMINDER_S)


@dataclass(frozen=True, slots=True)
class _Due:
    steak: str
    call: CallKind
    due: float


class TurnWatch:
    """Remembers what was said of each planned act, so that each moment is called once."""

    def __init__(self) -> None:
        self._said: dict[_Due, float] = {}

    def wishes(self, steaks: Mapping[str, SteakState], now: float) -> list[Wish]:
        """The acts to call at ``now``."""
        wishes: list[Wish] = []
        coming = list(_coming(steaks, now))
        taken: set[_Due] = set()
        for one in coming:
            lead = self._lead_to_say(one, now)
            if lead is None or one in taken:
                continue
            twins = [o for o in coming if o.call is one.call and abs(o.due - one.due) <= TWINS_S]
            taken.update(twins)
            wishes.append(self._wish(one, twins, lead, now))
        return wishes

    def sound_again(self, now: float) -> None:
        """Let what is overdue be called once more: nobody may have heard it."""
        self._said = {one: lead for one, lead in self._said.items() if one.due > now}

    def _wish(self, one: _Due, twins: list[_Due], lead: float, now: float) -> Wish:
        def said(_id: str, _t: float) -> None:
            for twin in twins:
                self._said[twin] = lead

        left = one.due - now
        in_s = lead if abs(left - lead) <= 1.0 else float(round(left))
        in_s = max(in_s, 0.0)
        names = tuple(twin.steak for twin in twins)
        words = text.planned(one.call, names, in_s)
        return Wish(one.call, names, in_s, CALL_PRIORITY[one.call], words, one.due - lead, said)

    def _lead_to_say(self, one: _Due, now: float) -> float | None:
        """The latest moment that has come and was not called yet."""
        passed = [lead for lead in _SAYS_S if now >= one.due - lead]
        if not passed or self._said.get(one, float("inf")) <= passed[-1]:
            return None
        return passed[-1]


def _coming(steaks: Mapping[str, SteakState], now: float) -> Iterator[_Due]:
    """Each steak's next act, the earliest first."""
    found = []
    for name, steak in steaks.items():
        upcoming = steak.next_planned(now)
        if upcoming is not None:
            found.append(_Due(name, CallKind(upcoming[0].mark.value), upcoming[1]))
    return iter(sorted(found, key=lambda one: one.due))
