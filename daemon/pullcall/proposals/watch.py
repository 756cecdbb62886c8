"""All proposals of one cook: what stands, what is new, what is withdrawn."""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from pullcall.core.phase import Phase
from pullcall.core.steak import SteakState
from pullcall.events import Forecast, MarkKind, Proposal, Reading
from pullcall.proposals.found import Found
from pullcall.proposals.lid import LidWatch
from pullcall.proposals.rules import CONFIRM_S, REPEAT_S, SAME_ACT_S, STANDS_S
from pullcall.proposals.steak_watch import SteakWatch


@dataclass(frozen=True, slots=True)
class Withdrawn:
    """The proposal ``id`` stands no more; ``why`` in plain words."""

    t: float
    id: str
    why: str


_Key = tuple[str | None, MarkKind, str]
#: Moments remembered as proposed, for each kind and reason.
_REMEMBERED = 32
#: In which phase a mark of a kind can be missing.
_PHASE = {
    MarkKind.ON: Phase.WAITING,
    MarkKind.OFF: Phase.ON,
    MarkKind.FLIP: Phase.ON,
}


class ProposalWatch:
    """Fed in time order; times are cook seconds.

    It follows what the readings say, whatever is undone, so it needs no going back: what it
    proposed once it does not propose again, also when the mark that came of it was taken back.
    """

    def __init__(self, steaks: Iterable[str], grate_channel: str | None = None) -> None:
        self._steaks = {name: SteakWatch() for name in steaks}
        self._lid = LidWatch()
        self._grate_channel = grate_channel
        self._lid_is_open = False
        self._lid_found: list[tuple[MarkKind, Found]] = []
        self._standing: dict[str, Proposal] = {}
        self._told: dict[_Key, deque[float]] = {}
        self._made: list[str] = []

    def set_grate(self, channel: str | None) -> None:
        """The grate's probe is on another channel."""
        if channel != self._grate_channel:
            self._grate_channel, self._lid = channel, LidWatch()

    def standing(self) -> tuple[Proposal, ...]:
        """The proposals that wait for an answer, the oldest first."""
        return tuple(self._standing.values())

    def read(self, reading: Reading) -> None:
        """Take a reading of a steak's probe or of the grate's; others are ignored."""
        if reading.steak in self._steaks:
            self._steaks[reading.steak].read(reading.t, reading.celsius)
        elif reading.channel is not None and reading.channel == self._grate_channel:
            self._read_grate(reading.t, reading.celsius)

    def mark(self, steak: str | None, kind: MarkKind, t: float) -> None:
        """The cook marked ``kind``, happened at ``t``; ``steak`` None means all or the grill."""
        if kind in (MarkKind.LID_OPEN, MarkKind.LID_CLOSE):
            self._lid_is_open = kind is MarkKind.LID_OPEN
        for name in self._steaks if steak is None else (steak,):
            if name in self._steaks:
                self._steaks[name].mark(kind, t)
        for one in self._standing.values():
            is_meant = one.steak is None or steak in (None, one.steak)
            if one.mark is kind and is_meant and abs(one.happened - t) <= _reach(kind):
                self._made.append(one.id)

    def dismiss(self, id: str) -> bool:
        """The cook says it is not so; False where no such proposal stands."""
        return self._standing.pop(id, None) is not None

    def step(
        self, now: float, steaks: Mapping[str, SteakState], forecasts: Mapping[str, Forecast]
    ) -> list[Proposal | Withdrawn]:
        """What changed up to ``now``. A Proposal with the id of a standing one replaces it."""
        seen: list[tuple[str | None, MarkKind, Found]] = []
        for name, watch in self._steaks.items():
            if name in steaks:
                found = watch.see(steaks[name], forecasts.get(name), now)
                seen += [(name, kind, one) for kind, one in found]
        seen += [(None, kind, one) for kind, one in self._lid_found]
        out: list[Proposal | Withdrawn] = list(self._withdraw(seen, steaks, now))
        for steak, kind, one in seen:
            out += self._propose(steak, kind, one, now)
        return out

    def _withdraw(
        self,
        seen: list[tuple[str | None, MarkKind, Found]],
        steaks: Mapping[str, SteakState],
        now: float,
    ) -> Iterator[Withdrawn]:
        supported = {_id(*one) for one in seen}
        for one in tuple(self._standing.values()):
            why = self._why_not(one, supported, steaks, now)
            if why is not None:
                del self._standing[one.id]
                yield Withdrawn(now, one.id, why)
        self._made.clear()

    def _why_not(
        self, one: Proposal, supported: set[str], steaks: Mapping[str, SteakState], now: float
    ) -> str | None:
        if one.id in self._made:
            return "marked"
        if one.steak is not None and steaks[one.steak].phase is not _PHASE[one.mark]:
            return "marked"
        if one.id not in supported:
            return "the readings say otherwise"
        return "nobody answered" if now - one.t >= STANDS_S else None

    def _propose(
        self, steak: str | None, kind: MarkKind, one: Found, now: float
    ) -> Iterator[Proposal]:
        id = _id(steak, kind, one)
        standing = self._standing.get(id)
        if standing is not None:
            if one.sure and standing.confirm_t is None:
                self._standing[id] = replace(standing, confirm_t=now + CONFIRM_S)
                yield self._standing[id]
            return
        told = self._told.setdefault((steak, kind, one.why), deque(maxlen=_REMEMBERED))
        # A planned flip is told for its own time, and the next may come soon after.
        apart = 1.0 if kind is MarkKind.FLIP else REPEAT_S
        if any(abs(one.happened - t) < apart for t in told):
            return
        told.append(one.happened)
        self._standing[id] = Proposal(now, id, steak, kind, one.happened, None, one.why)
        yield self._standing[id]

    def _read_grate(self, t: float, celsius: float) -> None:
        opened, closed = self._lid.read(t, celsius)
        if opened is not None and not self._lid_is_open:
            self._lid_found = [(MarkKind.LID_OPEN, opened)]
        if closed is not None:
            # A dip that came back unmarked is over: there is nothing left to mark.
            self._lid_found = [(MarkKind.LID_CLOSE, closed)] if self._lid_is_open else []


def _id(steak: str | None, kind: MarkKind, one: Found) -> str:
    return f"{kind}-{steak or 'grill'}-{one.happened:.1f}"


def _reach(kind: MarkKind) -> float:
    """How far from the proposed moment a mark of this kind still is the one meant, seconds."""
    return SAME_ACT_S if kind is MarkKind.FLIP else math.inf
