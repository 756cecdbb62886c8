"""Announces what the core decided: logged first, then shown, then handed to who sounds it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial

from pullcall.calls.alarm import CallState, StateChange
from pullcall.core.cook import Cook, Effect
from pullcall.events import Call, Reached
from pullcall.metrics.measures import Measures
from pullcall.outlets.desk import Desk
from pullcall.site.ledger import Ledger
from pullcall.site.open_cook import OpenCook
from pullcall.site.view import View
from pullcall.supervision import Edge

#: A call that comes later than this is not sounded any more, wall seconds.
LATE_S = 3.0


class Announcer:
    """Announces for one cook after the other.

    ``beside`` keeps mistakes of what only shows, measures or listens from the calls. ``now`` gives
    the cook's seconds, which go ``speed`` times as fast as life.
    """

    def __init__(
        self,
        ledger: Ledger,
        desk: Desk,
        measures: Measures,
        beside: Edge,
        now: Callable[[], float],
        speed: float,
    ) -> None:
        self._ledger = ledger
        self._desk = desk
        self._measures = measures
        self._beside = beside
        self._now = now
        self._late_s = LATE_S * speed
        self._hearers: list[Callable[[Call], None]] = []
        self._was_away = False
        self._cook: Cook
        self._id: str
        self._view: View

    def hear(self, hearer: Callable[[Call], None]) -> None:
        """Let ``hearer`` know of every call as it is announced."""
        self._hearers.append(hearer)

    def take_up(self, opened: OpenCook, view: View) -> None:
        """Announce for this cook from now on."""
        self._cook, self._id, self._view = opened.core, opened.id, view
        self._desk.begin_cook(opened.core.header.names())

    async def announce(self, effects: list[Effect]) -> None:
        """Calls are stored before anyone hears them. Those of a time that nobody could watch (the
        machine was suspended) are over: "pull in about 40" would be wrong by as much."""
        calls = _calls(effects)
        if calls:
            await self._ledger.write(self._id, self._reached(calls), calls)
        late, fresh = self._by_age(effects)
        self._beside.guard(lambda: self._view.learn(None, late))
        self._beside.guard(lambda: self._view.show_effects(fresh, self._now()))
        self._beside.guard(lambda: self._measures.announces(fresh, self._now()))
        timely = _calls(fresh)
        self._was_away |= len(timely) < len(calls)
        self._desk.announce(tuple(timely))
        for hearer in self._hearers if timely else ():
            self._beside.guard(partial(_hand_over, timely, hearer))
        for effect in effects:
            if isinstance(effect, StateChange) and effect.state is not CallState.UNACKNOWLEDGED:
                self._desk.silence(effect.id)

    def again(self, burst: tuple[Call, ...]) -> None:
        """Nobody was heard to sound these: every page is told once more, insistently."""
        self._measures.calls.went_unheard(burst)
        for call in burst:
            self._view.show_again(call)

    def silence(self) -> None:
        """The cook is over: none of its alarms sounds on."""
        for alarm in self._cook.live_alarms():
            self._desk.silence(alarm.id)

    def has_been_away(self) -> bool:
        """Whether calls fell, since this was last asked, into a time that nobody could watch."""
        was_away, self._was_away = self._was_away, False
        return was_away

    def _by_age(self, effects: list[Effect]) -> tuple[list[Effect], list[Effect]]:
        """Those of a time that nobody could watch, and those of now."""
        since = self._now() - self._late_s
        late = [effect for effect in effects if effect.t < since]
        return late, effects[len(late) :] if late else effects

    def _reached(self, calls: list[Call]) -> list[Reached]:
        """The record that lets a replay run as far as these calls, where no input does."""
        latest = max(call.t for call in calls)
        if latest <= self._cook.latest_input_t:
            return []
        reached = Reached(self._cook.stamp(latest))
        self._cook.apply(reached)
        return [reached]


def _calls(effects: Sequence[Effect]) -> list[Call]:
    return [effect for effect in effects if isinstance(effect, Call)]


def _hand_over(calls: list[Call], hearer: Callable[[Call], None]) -> None:
    for call in calls:
        hearer(call)
