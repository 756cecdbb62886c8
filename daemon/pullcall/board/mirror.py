"""One site, kept up from what it publishes; sans-I/O, times are the board's own seconds."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from pydantic import BaseModel

from pullcall.board.contact import Contact, Reach
from pullcall.board.delivery import Delivery, Slot, slot_of
from pullcall.board.holes import differs
from pullcall.board.latest import Latest
from pullcall.board.news import is_announced, news
from pullcall.board.pulse_clock import PulseClock
from pullcall.board.quiet_hub import QuietHub
from pullcall.board.runs import Runs
from pullcall.board.shown import state_json
from pullcall.board.stamp import Stamp
from pullcall.board.state import OF_COOK, Lane, SiteState
from pullcall.bus import channels, payloads
from pullcall.bus.channels import Channel, Place
from pullcall.calls.alarm import CallState

Json = dict[str, Any]
#: Said above the lanes of a site that went.
_FAREWELLS = {
    Reach.LOST: "This site is cut off: what is shown is what it said last.",
    Reach.GONE: "This site was switched off: what is shown is what it said last.",
}
_Said = tuple[Place, BaseModel | None, Stamp]

#: A call made longer ago than this is not called any more, seconds: pages are shown it only.
_FRESH_S = 15.0


class Mirror:
    """Takes what a site says, and tells its pages what its own daemon would have told them.

    What cannot be told as a difference (another cook or run of the site, what came while nobody
    was connected) makes a snapshot at the next :meth:`settle`.
    """

    def __init__(self, site: str, now: float) -> None:
        self.site = site
        self.hub = QuietHub()
        self.state = SiteState()
        self.clock = PulseClock()
        self.contact = Contact(now)
        #: When each alarm that lives was raised, cook seconds.
        self.raised_t: dict[str, float] = {}
        self._latest = Latest()
        self._delivery = Delivery()
        self._runs = Runs()
        #: The last that a run said while it was not listened to.
        self._aside: dict[Slot, _Said] = {}
        self._is_unsettled = False
        self._is_another = False

    @property
    def name(self) -> str:
        """What people call it."""
        return self.contact.name or self.site

    def take(
        self, place: Place, payload: BaseModel | None, is_retained: bool, stamp: Stamp, now: float
    ) -> None:
        """Take what one of its topics says; None: the topic is no more."""
        slot = slot_of(place)
        self._delivery.came(slot, now)
        if not is_retained and self._runs.is_over(stamp.epoch):
            is_greeting = isinstance(payload, payloads.Presence) and payload.state == "here"
            if not self._runs.is_back(stamp.epoch, now, is_greeting):
                self._aside[slot] = place, payload, stamp
                return
            self._take_back(stamp.epoch, now)
        self._take(place, payload, is_retained, stamp, now)

    def cut_off(self) -> None:
        """The board does not reach the broker any more."""
        self._delivery.cut_off()

    def forget_what_is_gone(self, now: float, open_since: float) -> bool:
        """Forget the topics that did not come again, once all has come that will; whether there
        were any. The board has followed every topic since ``open_since``."""
        if not self._delivery.is_over(now, open_since):
            return False
        is_less = self._drop(lambda slot: not self._delivery.has(slot))
        self._is_unsettled |= is_less
        return is_less

    def _take_back(self, epoch: str, now: float) -> None:
        """A run is listened to again, and so is what it said last."""
        self._is_another_run(epoch, now)
        said = [one for one in self._aside.values() if one[2].epoch == epoch]
        self._aside.clear()
        for place, payload, stamp in sorted(said, key=lambda one: one[2].seq or 0):
            if place.channel not in (channels.PRESENCE, channels.PULSE):
                self._take(place, payload, False, stamp, now)

    def _take(
        self, place: Place, payload: BaseModel | None, is_retained: bool, stamp: Stamp, now: float
    ) -> None:
        # A last will is written before anything else is said: a presence is never old.
        if place.channel is not channels.PRESENCE and self._latest.is_old(slot_of(place), stamp):
            return
        left = self.contact.left
        if not is_retained and (payload is None or _is_spoken(payload)):
            self._hear(stamp, now)
        if isinstance(payload, payloads.Cook):
            self._leave_cook(payload, is_retained, stamp)
        at = now - stamp.age_s(place.channel.expires_s) if is_retained else now
        before = self.state.put(place, payload)
        self._follow(place, before, is_retained, at)
        if self.contact.left is not left:
            self._is_unsettled = True  # pages are told at once that it went, or is back
        if is_retained:
            self._is_unsettled |= before != payload
        elif self.hub.is_watched and not self._is_unsettled and before != payload:
            self._tell(place, before, now)

    def settle(self, now: float) -> None:
        """Send a snapshot where differences could not tell what happened."""
        if self._is_unsettled and self.hub.is_watched:
            if self._is_another:
                self.hub.restart()
            self.hub.publish("snapshot", self.snapshot(now))
        self._is_unsettled = self._is_another = False

    def now(self, now: float) -> float:
        """The cook's clock, seconds (see :class:`PulseClock`)."""
        return self.clock.now(now)

    def snapshot(self, now: float) -> Json:
        """Everything a page needs to start from (docs/stream.md), whatever has come so far.

        ``heard_s`` is how long ago the site itself was heard.
        """
        t = round(self.clock.now(now), 3)
        is_replay = self.state.pulse is not None and self.state.pulse.mode == "replay"
        return {
            "epoch": self.hub.epoch,
            "seq": self.hub.seq,
            "t": t,
            "speed": self.clock.speed,
            "ends_t": t if is_replay else None,
            "heard_s": round(self.contact.unheard_s(now), 1),
            **state_json(self.state),
            **self._farewell(),
        }

    def _farewell(self) -> Json:
        """The notice above the lanes, where the site went; else its own stands."""
        words = _FAREWELLS.get(self.contact.left) if self.contact.left else None
        return {} if words is None else {"banner": words}

    def _hear(self, stamp: Stamp, now: float) -> None:
        if stamp.epoch:
            self._is_another_run(stamp.epoch, now)
        # What comes late is no news of now, however much of it comes.
        self.contact.hear(now - self.clock.late_s)

    def _is_another_run(self, epoch: str, now: float) -> None:
        if self._runs.hear(epoch, now):
            self._begin_anew()
            self.clock.begin_anew()

    def _leave_cook(self, cook: payloads.Cook, is_retained: bool, stamp: Stamp) -> None:
        """Forget what was of another cook.

        What the broker kept of this one comes in any order, but nothing else does with it. Of what
        is live, only what the site said after it said that another cook began is of this one.
        """
        old = self.state.cook
        if old is None or old.id == cook.id:
            return
        self._begin_anew()
        if is_retained:
            self._drop(lambda slot: slot[0] in OF_COOK and not self._delivery.has(slot))
        else:
            self._drop(lambda slot: slot[0] in OF_COOK and not self._latest.is_after(slot, stamp))

    def _drop(self, is_gone: Callable[[Slot], bool]) -> bool:
        """Forget topics; whether anything was known of them."""
        gone = [slot for slot in self.state.known() if is_gone(slot)]
        for slot in gone:
            self.state.forget(slot)
            self._latest.forget(slot)
        if ("calls", None) in gone:
            self.raised_t = {}
        return bool(gone)

    def _begin_anew(self) -> None:
        self._is_unsettled = self._is_another = True

    def _follow(self, place: Place, before: BaseModel | None, is_retained: bool, at: float) -> None:
        """What one topic says changes more than its own field."""
        state = self.state
        if place.channel is channels.PRESENCE and state.presence is not None:
            self.contact.told(state.presence, at)
        elif place.channel is channels.PULSE and state.pulse is not None:
            self._take_pulse(state.pulse, before, is_retained, at)
        elif place.channel is channels.COOK:
            self._take_cook(before)
        elif place.channel is channels.CALLS:
            self._take_calls(before, at)
        elif place.lane is not None:
            self._take_lane(place.channel, state.lanes[place.lane - 1], before)

    def _take_pulse(
        self, pulse: payloads.Pulse, before: BaseModel | None, is_retained: bool, at: float
    ) -> None:
        take = self.clock.guess if is_retained else self.clock.pulse
        take(pulse.t, at, pulse.speed, pulse.mode == "replay")
        if not is_retained:
            self.contact.hear(at - self.clock.late_s)
        old = before if isinstance(before, payloads.Pulse) else None
        if old is None or _kind(old) != _kind(pulse):
            self._is_unsettled = True
        elif not is_retained and self.hub.is_watched:
            self.hub.whisper("tick", {"t": round(self.clock.now(at), 3)})

    def _take_cook(self, before: BaseModel | None) -> None:
        cook, old = self.state.cook, before if isinstance(before, payloads.Cook) else None
        if cook is None or old is None or cook.steaks != old.steaks:
            self._is_unsettled = True

    def _take_calls(self, before: BaseModel | None, at: float) -> None:
        calls = self.state.calls.calls if self.state.calls else []
        known = {c.id: c for c in before.calls} if isinstance(before, payloads.Calls) else {}
        live = [call for call in calls if call.state is not CallState.CLEARED]
        self.raised_t = {c.id: self._raised_t(c) for c in live}
        oldest = self.clock.now(at) - _FRESH_S * self.clock.speed
        if any(call.t < oldest and is_announced(known.get(call.id), call) for call in calls):
            self._is_unsettled = True

    def _raised_t(self, call: payloads.Call) -> float:
        """When an alarm was raised: as its site says, else when it was first heard of."""
        return self.raised_t.get(call.id, call.t) if call.since_t is None else call.since_t

    def _take_lane(self, channel: Channel, lane: Lane, before: BaseModel | None) -> None:
        if channel is channels.STEAK and _name(before) != _name(lane.steak):
            self._is_unsettled = True  # pages know no steak of that name
        if channel is channels.CURVE:
            known = lane.drawn.points()
            lane.draw()
        elif channel is channels.READING and lane.reading is not None:
            lane.drawn.add(lane.reading.t, lane.reading.celsius)
        if channel is channels.CURVE and self.hub.is_watched:
            self._is_unsettled |= differs(known, lane.drawn.points())

    def _tell(self, place: Place, before: BaseModel | None, now: float) -> None:
        t = self.clock.now(now)
        for type, body in news(self.state, place, before, t):
            self.hub.publish(type, body)


def _is_spoken(payload: BaseModel) -> bool:
    """Whether the site itself says it: of its presence, the broker says all but that it is here."""
    return not isinstance(payload, payloads.Presence) or payload.state == "here"


def _kind(pulse: payloads.Pulse) -> tuple[str, str, float]:
    return pulse.mode, pulse.unit, pulse.speed


def _name(steak: BaseModel | None) -> str | None:
    return steak.steak if isinstance(steak, payloads.Steak) else None
