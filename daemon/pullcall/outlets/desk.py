"""All outlets together: announces on each, hears their reports, escalates, keeps them running."""

from __future__ import annotations

import asyncio
import logging
from collections import OrderedDict
from collections.abc import Callable, Sequence
from functools import partial
from typing import TypeVar

from pullcall.clock import Clock
from pullcall.events import Call
from pullcall.outlets.clips import Clips
from pullcall.outlets.deadlines import Deadlines
from pullcall.outlets.outlet import (
    Burst,
    Outlet,
    OutletKind,
    OutletState,
    OutletStatus,
    Report,
    Reports,
)
from pullcall.outlets.phones import Phones
from pullcall.outlets.speech import Speech
from pullcall.outlets.supervised import Supervised
from pullcall.supervision import Edges, Part

_log = logging.getLogger(__name__)

#: A call nobody is known to have heard is announced again after this long, seconds.
UNHEARD_S = 3.0
#: ... but not where that comes this much later still: the machine was suspended, seconds.
_VOID_S = 2.0
#: The least urgent priority that is announced again.
_ESCALATES = 2
#: Calls remembered; past it the oldest is forgotten.
_MOST_CALLS = 256

_CallKey = tuple[str, float]
_K = TypeVar("_K")
_V = TypeVar("_V")


class Desk:
    """Where the site hands over calls. Nothing here raises or waits; trouble is in the statuses.

    ``backups`` are only given calls that nobody was heard to play or that nobody answered.
    Receipts and timeouts count seconds of ``clock``, which must be the machine's own even where
    the cook's runs faster.
    ``clips`` has the words of calls for the phones, rendered by ``speech``.
    ``on_report`` is told everything the outlets report; ``on_unheard`` is given what is announced
    again, so that the hub can send it again too.
    """

    def __init__(
        self,
        phones: Phones,
        others: Sequence[Outlet],
        clock: Clock,
        *,
        backups: Sequence[Outlet] = (),
        speech: Speech | None = None,
        on_report: Reports | None = None,
        on_unheard: Callable[[Burst], None] | None = None,
    ) -> None:
        self.phones = phones
        self.clips = Clips(speech)
        self.on_report = on_report
        self.on_unheard = on_unheard
        self._clock = clock
        #: Every part of the desk, for people to see which does not go.
        self.edges = Edges(clock)
        self._listeners = self.edges.edge("reports of outlets")
        self._usual = [self._supervised(outlet) for outlet in (phones, *others)]
        self._backups = [self._supervised(outlet) for outlet in backups]
        self._due: Deadlines[Burst] = Deadlines(clock, UNHEARD_S, _VOID_S)
        self._unheard: OrderedDict[_CallKey, None] = OrderedDict()
        self._delivered: OrderedDict[_CallKey, set[str]] = OrderedDict()
        self._last_heard: OrderedDict[str, Report] = OrderedDict()
        self._complained: OrderedDict[str, None] = OrderedDict()

    # What the site says

    def begin_cook(self, steaks: Sequence[str]) -> None:
        """A cook with these steaks, in the cook's order, begins or is taken up again.

        Calls are numbered anew in each cook: nothing is remembered of those of the last.
        """
        for kept in (self._unheard, self._delivered, self._last_heard, self._complained):
            kept.clear()
        for outlet in self._all():
            outlet.begin_cook(steaks)

    def announce(self, burst: Burst) -> None:
        """Announce calls of one moment, most urgent first, on every outlet but the backups.

        Alarms that nobody answered go to the backups as well.
        """
        if not burst:
            return
        for call in burst:
            if call.priority <= _ESCALATES:
                _remember(self._unheard, _key(call), None)
        self._due.add(burst)
        for outlet in self._usual:
            outlet.announce(burst)
        if insistent := tuple(call for call in burst if call.insistent):
            for outlet in self._backups:
                outlet.announce(insistent)

    def silence(self, call_id: str) -> None:
        """A call was answered or has cleared."""
        for key in [key for key in self._unheard if key[0] == call_id]:
            del self._unheard[key]
        for outlet in self._all():
            outlet.silence(call_id)

    # What the site asks

    def is_heard(self, now: float) -> bool:
        """Whether somebody can hear: an armed phone is here, or a loudspeaker plays.

        ``now`` is real monotonic seconds. A loudspeaker counts once it has played, if only the
        silence of its check, and until it fails.
        """
        if self.phones.armed_count(now):
            return True
        speakers = (s for s in self.statuses() if s.kind is OutletKind.LOUDSPEAKER)
        return any(s.state is OutletState.OK for s in speakers)

    def statuses(self) -> tuple[OutletStatus, ...]:
        """Every outlet, phones first, backups last."""
        return tuple(outlet.status() for outlet in self._all())

    def last_heard(self, call_id: str) -> Report | None:
        """The last report that this call sounded; None while there is none."""
        return self._last_heard.get(call_id)

    # The life of the desk

    async def run(self) -> None:
        """Run every outlet until cancelled; one that fails is started again by itself."""
        async with asyncio.TaskGroup() as tasks:
            for outlet in self._all():
                tasks.create_task(outlet.run(self._take), name=f"outlet {outlet.name}")
            beside = (
                Part("words", self.clips.run, has_an_end=True),
                Part("escalation", self._escalate_what_is_due),
            )
            tasks.create_task(self.edges.keep(*beside), name="beside the outlets")

    async def _escalate_what_is_due(self) -> None:
        while True:
            self._escalate(await self._due.next())

    def _supervised(self, outlet: Outlet) -> Supervised:
        return Supervised(outlet, self.edges.edge(outlet.name))

    def _all(self) -> list[Supervised]:
        return [*self._usual, *self._backups]

    def _take(self, report: Report) -> None:
        """One outlet's report of one call."""
        if report.played:
            _remember(self._delivered, _key(report.call), set()).add(report.outlet)
            if self._sounds(report.outlet):
                self._unheard.pop(_key(report.call), None)
                _remember(self._last_heard, report.call.id, report)
                self._last_heard[report.call.id] = report
        if self.on_report is not None:
            self._listeners.guard(partial(self.on_report, report))

    def _sounds(self, name: str) -> bool:
        return any(outlet.name == name and outlet.kind.sounds for outlet in self._all())

    def _escalate(self, burst: Burst) -> None:
        """Announce once more what nobody was heard to play, on every outlet there is.

        Once, because each burst comes due once.
        """
        left = tuple(call for call in burst if _key(call) in self._unheard)
        if not left:
            return
        self._complain(left)
        for outlet in self._all():
            fresh = tuple(c for c in left if outlet.name not in self._delivered.get(_key(c), ()))
            if fresh:
                outlet.announce(fresh)
        if self.on_unheard is not None:
            self._listeners.guard(partial(self.on_unheard, left))

    def _complain(self, unheard: Burst) -> None:
        """Once for each call: an alarm that goes on unheard would fill the log."""
        new = tuple(call for call in unheard if call.id not in self._complained)
        for call in new:
            _remember(self._complained, call.id, None)
        if new:
            _log.warning(
                "No phone or loudspeaker confirmed %s: it is announced again.", _texts(new)
            )


def _key(call: Call) -> _CallKey:
    """Names one announcement: repeats of an alarm share the call's id."""
    return (call.id, call.t)


def _texts(calls: Burst) -> str:
    return ", ".join(f"“{call.text}”" for call in calls)


def _remember(kept: OrderedDict[_K, _V], key: _K, value: _V) -> _V:
    """Keep ``value`` unless the key is there; the oldest goes when there are too many."""
    value = kept.setdefault(key, value)
    kept.move_to_end(key)
    while len(kept) > _MOST_CALLS:
        kept.popitem(last=False)
    return value
