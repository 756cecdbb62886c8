"""One site, kept up from what it publishes; sans-I/O, times are the board's own seconds."""

from __future__ import annotations

from bisect import bisect_left
from collections import deque
from typing import Any

from pydantic import BaseModel

from pullcall.board.contact import Contact
from pullcall.board.news import is_announced, news
from pullcall.board.pulse_clock import PulseClock
from pullcall.board.quiet_hub import QuietHub
from pullcall.board.shown import state_json
from pullcall.board.stamp import Stamp
from pullcall.board.state import Lane, SiteState
from pullcall.bus import channels, payloads
from pullcall.bus.channels import Channel, Place
from pullcall.calls.alarm import CallState
from pullcall.core.curve import Curve

Json = dict[str, Any]
Point = tuple[float, float]
_Slot = tuple[str, int | None]

#: A call made longer ago than this is not called any more, seconds: pages are shown it only.
_FRESH_S = 15.0
#: A hole in a curve that is worth sending it anew: this long, seconds, or this share of it all.
_HOLE_S, _HOLE_SHARE = 10.0, 0.02
#: Runs of a site that are remembered as over.
_RUNS = 8


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
        self._latest: dict[_Slot, tuple[str, int]] = {}
        self._epoch = ""
        self._over: deque[str] = deque(maxlen=_RUNS)
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
        if self._is_old(place, is_retained, stamp):
            return
        if not is_retained and place.channel is not channels.PRESENCE:
            self._hear(stamp, now)
        at = now - _age_s(place, stamp) if is_retained else now
        before = self.state.put(place, payload)
        self._follow(place, before, is_retained, at)
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
        }

    def _is_old(self, place: Place, is_retained: bool, stamp: Stamp) -> bool:
        """Whether something later is known already.

        A last will is written before anything else is said, so a presence is never old.
        """
        if place.channel is channels.PRESENCE or not stamp.epoch:
            return False
        if not is_retained and stamp.epoch in self._over:
            return True
        slot = (place.channel.name, place.lane)
        epoch, seq = self._latest.get(slot, ("", -1))
        if stamp.seq is None:
            return False
        if stamp.epoch == epoch and stamp.seq <= seq:
            return True
        self._latest[slot] = (stamp.epoch, stamp.seq)
        return False

    def _hear(self, stamp: Stamp, now: float) -> None:
        if stamp.epoch and stamp.epoch != self._epoch:
            if self._epoch:
                self._over.append(self._epoch)
                self._begin_anew()
                self.clock.begin_anew()
            self._epoch = stamp.epoch
        # What comes late is no news of now, however much of it comes.
        self.contact.hear(now - self.clock.late_s)

    def _begin_anew(self) -> None:
        self._is_unsettled = self._is_another = True

    def _follow(self, place: Place, before: BaseModel | None, is_retained: bool, at: float) -> None:
        """What one topic says changes more than its own field."""
        state = self.state
        if place.channel is channels.PRESENCE and state.presence is not None:
            self._take_presence(state.presence, is_retained, at)
        elif place.channel is channels.PULSE and state.pulse is not None:
            self._take_pulse(state.pulse, before, is_retained, at)
        elif place.channel is channels.COOK:
            self._take_cook(before, is_retained)
        elif place.channel is channels.CALLS:
            self._take_calls(before, at)
        elif place.lane is not None:
            self._take_lane(place.channel, state.lanes[place.lane - 1], before)

    def _take_presence(self, presence: payloads.Presence, is_retained: bool, at: float) -> None:
        if presence.state == "here" and not is_retained:
            self.contact.hear(at)
        self.contact.told(presence, at)

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

    def _take_cook(self, before: BaseModel | None, is_retained: bool) -> None:
        cook, old = self.state.cook, before if isinstance(before, payloads.Cook) else None
        if cook is None or old is None or cook.steaks != old.steaks:
            self._is_unsettled = True
        if cook is not None and old is not None and cook.id != old.id:
            self._begin_anew()
            if not is_retained:  # the readings of the other cook are on another clock
                for lane in self.state.lanes:
                    lane.drawn = Curve()

    def _take_calls(self, before: BaseModel | None, at: float) -> None:
        calls = self.state.calls.calls if self.state.calls else []
        known = {c.id: c for c in before.calls} if isinstance(before, payloads.Calls) else {}
        live = [call for call in calls if call.state is not CallState.CLEARED]
        self.raised_t = {c.id: self.raised_t.get(c.id, c.t) for c in live}
        oldest = self.clock.now(at) - _FRESH_S * self.clock.speed
        if any(call.t < oldest and is_announced(known.get(call.id), call) for call in calls):
            self._is_unsettled = True

    def _take_lane(self, channel: Channel, lane: Lane, before: BaseModel | None) -> None:
        if channel is channels.STEAK and _name(before) != _name(lane.steak):
            self._is_unsettled = True  # pages know no steak of that name
        if channel is channels.CURVE:
            known = lane.drawn.points()
            lane.drawn = Curve(lane.curve.points if lane.curve else ())
        if channel in (channels.CURVE, channels.READING) and lane.reading is not None:
            lane.drawn.add(lane.reading.t, lane.reading.celsius)
        if channel is channels.CURVE and self.hub.is_watched:
            self._is_unsettled |= _differs(known, lane.drawn.points())

    def _tell(self, place: Place, before: BaseModel | None, now: float) -> None:
        t = self.clock.now(now)
        for type, body in news(self.state, place, before, t):
            self.hub.publish(type, body)


def _age_s(place: Place, stamp: Stamp) -> float:
    """How long the broker has kept a message, as far as it tells."""
    left_s = place.channel.expires_s if stamp.left_s is None else stamp.left_s
    return float(max(0, place.channel.expires_s - left_s))


def _differs(known: list[Point], now: list[Point]) -> bool:
    """Whether a curve has a part that the one known lacks, or the other way round."""
    if not known or not now:
        return bool(known) != bool(now)
    hole_s = max(_HOLE_S, _HOLE_SHARE * (now[-1][0] - now[0][0]))
    return _lacks(known, now, hole_s) or _lacks(now, known, hole_s)


def _lacks(one: list[Point], other: list[Point], hole_s: float) -> bool:
    """Whether a point of the other curve is farther than a hole from every one of these."""
    times = [t for t, _ in one]
    places = ((t, bisect_left(times, t)) for t, _ in other)
    return any(min(abs(t - near) for near in times[max(0, i - 1) : i + 1]) > hole_s
               for t, i in places)  # fmt: skip


def _kind(pulse: payloads.Pulse) -> tuple[str, str, float]:
    return pulse.mode, pulse.unit, pulse.speed


def _name(steak: BaseModel | None) -> str | None:
    return steak.steak if isinstance(steak, payloads.Steak) else None
