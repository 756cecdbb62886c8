"""Decides each second what is called: planned acts, pulls, and alarms. No clock, no sound."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import partial

from pullcall.calls import text
from pullcall.calls.alarm import Alarm, CallState, Cause, StateChange
from pullcall.calls.alarm_book import AlarmBook
from pullcall.calls.causes import fault_causes, fire_causes, step_causes, window_causes
from pullcall.calls.probe_watch import ProbeWatch
from pullcall.calls.pull_watch import PullWatch
from pullcall.calls.rest_watch import RestWatch
from pullcall.calls.rules import CALL_PRIORITY, LONGEST_SHELF_S, OVERRULES
from pullcall.calls.scene import Scene
from pullcall.calls.spot_watch import SpotWatch
from pullcall.calls.turn_watch import TurnWatch
from pullcall.calls.voice import Voice
from pullcall.calls.wish import Wish
from pullcall.core.phase import Phase
from pullcall.core.steak import SteakState
from pullcall.errors import RefusedError, UnknownNameError
from pullcall.events import Call, CallKind
from pullcall.fire.watch import FireWatch

Announced = Call | StateChange


class CallEngine:
    """Steps once a second over all steaks; deterministic, so a replay gives the same calls."""

    def __init__(self, steaks: Mapping[str, SteakState], reaction_s: float = 0.0) -> None:
        self._reaction_s = reaction_s
        self._turns = TurnWatch()
        self._pulls = {name: PullWatch(reaction_s) for name in steaks}
        self._probes = {name: ProbeWatch() for name in steaks}
        self._spots = {name: SpotWatch() for name in steaks}
        self._rests = {name: RestWatch() for name in steaks}
        self._fire = FireWatch()
        self._book = AlarmBook(self._new_id)
        self._voice = Voice()
        self._said: dict[str, Call] = {}
        self._answered: set[str] = set()
        self._open_leads: dict[str, str] = {}
        self._count = 0

    def follow(self, steaks: Mapping[str, SteakState]) -> None:
        """Go on with these states of the same steaks (after an undo), keeping what was said."""
        for name, steak in steaks.items():
            if steak.phase is Phase.WAITING:
                self._pulls[name] = PullWatch(self._reaction_s)
                self._spots[name] = SpotWatch()

    def step(self, scene: Scene) -> list[Announced]:
        """What is announced at ``scene.now``: state changes first, then one burst."""
        self._look(scene)
        changes = self._book.follow(_loudest(self._causes(scene)), scene.now)
        changes += self._settle_leads(scene)
        wishes = [
            *self._turns.wishes(self._still_cooking(scene), scene.now),
            *self._pull_wishes(scene),
            *self._book.wishes(scene.now),
        ]
        return [*changes, *(self._say(w, scene.now) for w in self._voice.choose(wishes, scene.now))]

    def acknowledge(self, id: str, by: str, now: float) -> list[StateChange]:
        """Answer a call or alarm; answering twice changes nothing."""
        if self._book.find(id) is not None:
            return self._book.acknowledge(id, by, now)
        said = self._said.get(id)
        if said is None or said.call is not CallKind.PULL_SOON or id in self._answered:
            return []
        if self._open_leads.get(said.steaks[0]) != id:
            return []  # it is over: a later lead, a hold or "pull now" took its place
        self._answered.add(id)
        self._pulls[said.steaks[0]].mute()
        return [StateChange(now, id, CallState.ACKNOWLEDGED, by)]

    def shelve(self, id: str, by: str, for_s: float, now: float) -> list[StateChange]:
        """Put an alarm aside for a while."""
        return self._book.shelve(id, by, now + for_s, now)

    def sound_again(self, now: float) -> None:
        """Calls were not heard for a while: what nobody answered or did sounds at the next step."""
        self._book.sound_again(now)
        self._turns.sound_again(now)

    def check_call(self, id: str) -> None:
        """Raise UnknownNameError for a call that was never made."""
        if id not in self._said:
            raise UnknownNameError("There is no such call in this cook: reload the page.")

    def check_shelving(self, id: str, for_s: float) -> None:
        """Raise RefusedError for an alarm that cannot be put aside, or not for so long."""
        self.check_call(id)
        alarm = self._book.find(id)
        if alarm is None:
            raise RefusedError("That alarm is over: there is nothing to put aside.")
        if alarm.cause.priority == 1:
            raise RefusedError(
                "An alarm to act on in seconds cannot be put aside: answer it with Got it."
            )
        if not 0.0 < for_s <= LONGEST_SHELF_S:
            raise RefusedError(f"An alarm can be put aside for up to {LONGEST_SHELF_S:.0f} s.")

    def leads_left(self, steak: str) -> tuple[float, ...]:
        """The seconds ahead at which a steak's pull is still to be announced."""
        return self._pulls[steak].leads_left()

    def early_s(self, steak: str) -> float:
        """How long before the crossing a steak's "pull now" is called for a slow cook, seconds."""
        return self._pulls[steak].early_s

    def is_due(self, steak: str) -> bool:
        """Whether a steak's pull has been called and stands: nothing else is to be done to it."""
        return self._pulls[steak].is_due or self._pulls[steak].is_over

    def is_estimate(self, steak: str) -> bool:
        """Whether a steak's pull is known by the forecast alone, with no thermometer in it."""
        return self._spots[steak].is_estimate

    def live(self) -> tuple[Alarm, ...]:
        """The alarms that have not ended."""
        return self._book.live()

    def _look(self, scene: Scene) -> None:
        """Let every watch see this second."""
        for name, steak in scene.steaks.items():
            forecast = scene.forecasts.get(name)
            if steak.phase is Phase.ON:
                self._pulls[name].see(steak, forecast, scene.now)
                self._spots[name].see(steak, forecast, scene.now, self.is_due(name))
            self._probes[name].see(steak, scene.now, self._pulls[name].is_near)
            self._rests[name].see(steak, forecast, scene.now)
        anything_on = any(scene.in_phase(Phase.ON))
        self._fire.see(scene.fire, scene.fire_settings, scene.now, anything_on)

    def _still_cooking(self, scene: Scene) -> dict[str, SteakState]:
        """The steaks that are still to be turned and flipped."""
        return {name: steak for name, steak in scene.steaks.items() if not self.is_due(name)}

    def _causes(self, scene: Scene) -> Iterator[Cause]:
        for name, steak in scene.steaks.items():
            if steak.phase is Phase.ON:
                yield from self._causes_on(name)
            elif self._rests[name].is_done:
                yield Cause(CallKind.REST_DONE, name, 3, text.rest_done(name), (name,))
        yield from fire_causes(scene, self._fire)
        on = scene.in_phase(Phase.ON)
        yield from fault_causes(scene, any(self._pulls[steak.name].is_near for steak in on))
        yield from step_causes(scene)
        yield from window_causes(scene)

    def _causes_on(self, name: str) -> Iterator[Cause]:
        """What is wrong, or due, with a steak on the grate."""
        pull, probe, spot = self._pulls[name], self._probes[name], self._spots[name]
        pull_now = partial(text.pull_now, is_estimate=spot.is_estimate)
        near = 1 if pull.is_near else 2
        found = (
            (pull.is_over, CallKind.OVER, 1, text.over),
            (pull.is_due, CallKind.PULL_NOW, 1, pull_now),
            (probe.is_lost, CallKind.PROBE_LOST, near, text.probe_lost),
            (probe.is_wrong, CallKind.PROBE_WRONG, near, text.probe_wrong),
            (pull.is_shaky, CallKind.FORECAST_SHAKY, 2, text.forecast_shaky),
        )
        for holds, call, priority, words in found:
            if holds:
                worse = pull.over_steps if call is CallKind.OVER else 0
                yield Cause(call, name, priority, words(name), (name,), worse)
        if spot.stands and (coming := spot.coming) is not None:
            words_now = text.spot_due(name, coming.p10, coming.p90)
            yield Cause(CallKind.SPOT_DUE, name, 2, words_now, (name,), spot.asked)

    def _pull_wishes(self, scene: Scene) -> Iterator[Wish]:
        """Leads, holds and stand-bys of the steaks on the grate that are not due yet."""
        for steak in scene.in_phase(Phase.ON):
            watch = self._pulls[steak.name]
            if self.is_due(steak.name):
                continue
            if (hold := watch.hold()) is not None:
                yield self._pull_wish(steak, CallKind.PULL_HOLD, hold, scene.now)
            elif (lead := watch.lead()) is not None:
                yield self._pull_wish(steak, CallKind.PULL_SOON, lead, scene.now)
            elif watch.stands_by():
                yield self._pull_wish(steak, CallKind.PULL_SOON, None, scene.now)

    def _pull_wish(self, steak: SteakState, kind: CallKind, in_s: float | None, now: float) -> Wish:
        name, watch = steak.name, self._pulls[steak.name]
        words = text.pull_hold if kind is CallKind.PULL_HOLD else text.pull_soon

        def said(id: str, _t: float) -> None:
            if in_s is None:
                watch.say_stand_by()
            elif kind is CallKind.PULL_HOLD:
                watch.say_hold(in_s)
            else:
                watch.say_lead(in_s)
                self._open_leads[name] = id

        said_words = text.stand_by(name) if in_s is None else words(name, in_s)
        return Wish(kind, (name,), in_s, CALL_PRIORITY[kind], said_words, now, said)

    def _settle_leads(self, scene: Scene) -> list[StateChange]:
        """Leads announced before that say nothing any more: due now, off, or said anew."""
        changes = []
        for name, id in list(self._open_leads.items()):
            watch, steak = self._pulls[name], scene.steaks[name]
            outdated = steak.phase is not Phase.ON or self.is_due(name)
            if outdated or watch.lead() is not None or watch.hold() is not None:
                del self._open_leads[name]
                if id not in self._answered:
                    changes.append(StateChange(scene.now, id, CallState.CLEARED))
        return changes

    def _say(self, wish: Wish, now: float) -> Call:
        id = wish.id or self._new_id()
        call = Call(
            now, id, wish.steaks, wish.call, wish.in_s, wish.priority, wish.words, wish.insistent
        )
        self._said[id] = call
        wish.said(id, now)
        return call

    def _new_id(self) -> str:
        self._count += 1
        return f"c{self._count}"


def _loudest(causes: Iterator[Cause]) -> Iterator[Cause]:
    """Of one steak's causes that overrule each other, the first in that order."""
    found = list(causes)
    best: dict[str, int] = {}
    for cause in found:
        if cause.call in OVERRULES:
            rank = OVERRULES.index(cause.call)
            best[cause.of] = min(rank, best.get(cause.of, rank))
    for cause in found:
        if cause.call not in OVERRULES or OVERRULES.index(cause.call) == best[cause.of]:
            yield cause
