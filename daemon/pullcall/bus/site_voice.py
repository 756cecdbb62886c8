"""What a site publishes of its state and its calls: the latest of each topic wins."""

from __future__ import annotations

import math
from dataclasses import dataclass

from pullcall.bus import channels
from pullcall.bus.call_queue import CallQueue, lasts_s
from pullcall.bus.encoding import Encoder
from pullcall.bus.mirror import Mirror
from pullcall.bus.options import SiteOptions
from pullcall.bus.payloads import Presence
from pullcall.bus.publication import Json, Leaving, Publication
from pullcall.bus.slot import SLOTS, Slot
from pullcall.bus.stamps import Stamps

#: What changes all the time is sent no oftener than this, seconds.
_SPACING_S = {channels.PROBES: 5.0, channels.CURVE: 15.0}
#: A site that said nothing for this long may hang: nothing of it is renewed, seconds.
_SILENT_S = 10.0
#: Of a probe, what is sent at once where it changes.
_URGENT = ("channel", "state", "steak", "is_grate")


@dataclass(frozen=True, slots=True)
class _Sent:
    payload: bytes
    at: float


class SiteVoice:
    """The voice of a site in its own branch (see :class:`pullcall.bus.publication.Voice`).

    ``calls`` are its announcements; ``version`` is that of this program.
    What did not change is sent again only before it expires.
    """

    def __init__(self, options: SiteOptions, version: str) -> None:
        self.mirror = Mirror()
        self._stamps = Stamps()
        self.calls = CallQueue(options.site, self._stamps.epoch)
        self._options = options
        self._version = version
        self._here_due = -math.inf
        self._encoder = Encoder()
        self._due: dict[Slot, float] = {}
        self._sent: dict[Slot, _Sent] = {}
        self._heard = -math.inf
        self._cook: str | None = None
        self._links: object = None

    def take(self, message: Json, now: float) -> None:
        """Learn from one message of the stream."""
        self._heard = now
        touched = self.mirror.learn(message, now)
        if self.mirror.cook != self._cook:
            self._cook = self.mirror.cook
            self._sent.clear()
        is_whole = message["type"] == "snapshot"
        for slot in touched:
            at_once = self._is_urgent(slot) or is_whole
            self._put_due(slot, now if at_once else self._not_before(slot, now))
        self._queue_calls(now, is_whole)
        self.calls.drop_old(now)

    def begin(self) -> None:
        """A connection was made: everything is sent anew."""
        self._here_due = -math.inf
        self._sent.clear()
        if self.mirror.clock is not None:
            self._due = dict.fromkeys(SLOTS, -math.inf)

    def next(self, now: float) -> Publication | None:
        """That it is here, then the next topic whose state has to be sent."""
        if self._is_here_due(now):
            return self._presence("here")
        for slot in SLOTS:
            if self._due.get(slot, math.inf) <= now:
                payload = self._fresh(slot, now)
                if payload is not None:
                    return self._publication(slot, payload)
        return None

    def due_in(self, now: float) -> float:
        """Seconds until something may have to be sent."""
        return max(0.0, min((self._here_due, *self._due.values())) - now)

    def last_will(self) -> Publication:
        """That it is lost."""
        return self._presence("lost")

    def farewell(self, how: Leaving) -> Publication:
        """That it is gone, or lost."""
        return self._presence(how)

    def _is_here_due(self, now: float) -> bool:
        """Whether it has to be said that it is here: first of all, then before that expires."""
        if self._here_due > now:
            return False
        is_renewal = self._here_due > -math.inf
        if is_renewal and self._is_silent(now):
            self._here_due = now + _SILENT_S
            return False
        self._here_due = now + channels.PRESENCE.expires_s / 2.0
        return True

    def _is_silent(self, now: float) -> bool:
        return now - self._heard > _SILENT_S

    def _presence(self, state: str) -> Publication:
        name = self._options.name
        presence = Presence.model_validate({"state": state, "name": name, "version": self._version})
        payload = presence.model_dump_json().encode()
        return self._publication(Slot(channels.PRESENCE), payload)

    def _put_due(self, slot: Slot, at: float) -> None:
        self._due[slot] = min(at, self._due.get(slot, math.inf))

    def _not_before(self, slot: Slot, now: float) -> float:
        spacing_s = _SPACING_S.get(slot.channel)
        sent = self._sent.get(slot)
        return now if spacing_s is None or sent is None else max(now, sent.at + spacing_s)

    def _is_urgent(self, slot: Slot) -> bool:
        """Whether the state of a probe or of the adapter changed."""
        if slot.channel is not channels.PROBES:
            return False
        body = self.mirror.body(slot) or {}
        probes = [tuple(probe[key] for key in _URGENT) for probe in body["probes"]]
        before, self._links = self._links, (probes, body["adapter"])
        return before != self._links

    def _fresh(self, slot: Slot, now: float) -> bytes | None:
        """What to send of a topic that is due; None where the broker has it already."""
        del self._due[slot]
        sent = self._sent.get(slot)
        payload = self._payload(slot)
        half_s = slot.channel.expires_s / 2.0
        if payload is None:
            return None
        if sent is not None and payload == sent.payload:
            if now < sent.at + half_s:
                self._put_due(slot, sent.at + half_s)
                return None
            if self._is_silent(now):
                self._put_due(slot, now + _SILENT_S)
                return None
        self._sent[slot] = _Sent(payload, now)
        self._put_due(slot, now + half_s)
        return payload

    def _payload(self, slot: Slot) -> bytes | None:
        body = self.mirror.body(slot)
        return b"" if body is None else self._encoder.payload(slot.channel, body)

    def _publication(self, slot: Slot, payload: bytes) -> Publication:
        channel = slot.channel
        topic = channel.topic(self._options.site, slot.lane)
        user = self._stamps.next()
        return Publication(topic, payload, channel.qos, channel.retained, channel.expires_s, user)

    def _queue_calls(self, now: float, were_missed: bool) -> None:
        """A call that is made, or made again, is new; one that was missed may be old."""
        clock = self.mirror.clock
        if clock is None:
            return
        for call in self.mirror.take_new_calls():
            payload = self._encoder.payload(channels.CALL, call)
            if payload is not None:
                is_new = call["in_s"] is None and not were_missed
                age_s = 0.0 if is_new else clock.age_s(call["t"], now)
                self.calls.put(payload, lasts_s(call, age_s, clock.speed), now)
