"""What the pages of a site know, kept up from the messages that they get."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import UTC, datetime, timedelta

from pullcall.bus import channels
from pullcall.bus.call_list import CallList
from pullcall.bus.channels import Channel
from pullcall.bus.cook_clock import CookClock
from pullcall.bus.publication import Json
from pullcall.bus.slot import LANES, SLOTS, Slot
from pullcall.core.curve import Curve

#: Marks and spots shown at most: the latest.
_MOST_DEEDS = 400
#: Channels of probes that are told, the cook's own before others in range.
_MOST_PROBES = 64
_NOT_OF_A_STEAK = ("reading", "forecast", "curve")


class Mirror:
    """Takes messages, gives the body of each topic. Empty until the first snapshot."""

    def __init__(self) -> None:
        self.clock: CookClock | None = None
        self.names: tuple[str, ...] = ()
        self._calls = CallList()
        self._bodies: dict[Slot, Json | None] = {}
        self._curves: dict[str, Curve] = {}
        self._wall = datetime.min.replace(tzinfo=UTC)
        self._wall_t = 0.0
        self._by_type: dict[str, Callable[[Json], Iterable[Slot]]] = {
            "reading": self._reading,
            "forecast": self._forecast,
            "steak": self._steak,
            "mark": lambda m: self._deed("marks", m),
            "spot": lambda m: self._deed("spots", m),
            "undo": self._undo,
            "setting": self._setting,
            "banner": lambda m: self._in_pulse(banner=m["banner"]),
            "call": self._call,
            "call_state": self._call_state,
            "schedule": lambda m: self._put(channels.SCHEDULE, m),
            "plan": lambda m: self._put(channels.PLAN, m),
            "fire": lambda m: self._put(channels.GRATE, m),
            "proposals": lambda m: self._put(channels.PROPOSALS, m),
            "site": lambda m: self._put(channels.AROUND, m),
            "probes": self._probes,
            "cook": lambda m: self._cook(m["cook"]),
        }

    @property
    def cook(self) -> str | None:
        """The id of the cook that runs."""
        cook = self._bodies.get(Slot(channels.COOK))
        return None if cook is None else str(cook["id"])

    def learn(self, message: Json, now: float) -> tuple[Slot, ...]:
        """Take one message at ``now``, monotonic seconds; gives the topics that it concerns."""
        kind = message["type"]
        if kind == "snapshot":
            self._start(message, now)
            return SLOTS
        if self.clock is None:
            return ()
        if kind == "tick":
            return tuple(self._tick(message["t"], now))
        learn = self._by_type.get(kind)
        return () if learn is None else tuple(learn(message))

    def body(self, slot: Slot) -> Json | None:
        """What a topic says now; None: nothing, it is to be forgotten."""
        if slot.channel is channels.CURVE:
            return self._curve(slot.lane)
        if slot.channel is channels.CALLS:
            return {"calls": self._calls.shown()}
        return self._bodies.get(slot)

    def take_new_calls(self) -> list[Json]:
        """The calls that are to be announced, each given once."""
        return self._calls.take_new()

    def _start(self, snapshot: Json, now: float) -> None:
        """Everything anew."""
        goes_on = self.cook == snapshot["cook"]["id"]
        steaks = snapshot["steaks"]
        self._bodies.clear()
        self._curves = {s["steak"]: Curve(s["curve"]) for s in steaks}
        self.names = tuple(self._curves)
        self.clock = CookClock(snapshot["t"], now, snapshot["speed"])
        self._wall, self._wall_t = datetime.fromisoformat(snapshot["wall"]), snapshot["t"]
        keys = ("speed", "mode", "unit", "banner")
        self._bodies[Slot(channels.PULSE)] = {key: snapshot[key] for key in keys}
        self._tick(snapshot["t"], now)
        self._cook(snapshot["cook"])
        for steak in steaks:
            self._steak(steak)
        self._calls.start(snapshot["calls"], goes_on)
        deeds = {kind: list(snapshot[kind]) for kind in ("marks", "spots")}
        self._put(channels.DEEDS, deeds)
        self._put(channels.SCHEDULE, {"calls": snapshot["schedule"]})
        self._probes(snapshot)
        for channel in (channels.PLAN, channels.GRATE, channels.PROPOSALS, channels.AROUND):
            self._put(channel, snapshot)

    def _probes(self, message: Json) -> Iterable[Slot]:
        others_last = sorted(
            message["probes"], key=lambda p: p["steak"] is None and not p["is_grate"]
        )
        return self._put(channels.PROBES, {**message, "probes": others_last[:_MOST_PROBES]})

    def _tick(self, t: float, now: float) -> Iterable[Slot]:
        assert self.clock is not None
        self.clock = CookClock(t, now, self.clock.speed)
        wall = self._wall + timedelta(seconds=t - self._wall_t)
        return self._in_pulse(t=t, wall=wall.isoformat(timespec="seconds"))

    def _put(self, channel: Channel, body: Json, lane: int | None = None) -> Iterable[Slot]:
        slot = Slot(channel, lane)
        self._bodies[slot] = body
        return (slot,)

    def _in_pulse(self, **changed: object) -> Iterable[Slot]:
        pulse = self._bodies.get(Slot(channels.PULSE)) or {}
        return self._put(channels.PULSE, {**pulse, **changed})

    def _cook(self, cook: Json) -> Iterable[Slot]:
        return self._put(channels.COOK, {**cook, "steaks": list(self.names)})

    def _lane(self, steak: str | None) -> int | None:
        """The place of a steak among the cook's own; None for what is none of them."""
        lane = self.names.index(steak) + 1 if steak in self.names else None
        return lane if lane in LANES else None

    def _steak(self, steak: Json) -> Iterable[Slot]:
        lane = self._lane(steak["steak"])
        if lane is None:
            return ()
        own = {key: value for key, value in steak.items() if key not in _NOT_OF_A_STEAK}
        self._put(channels.STEAK, own, lane)
        for channel in (channels.READING, channels.FORECAST):
            self._bodies[Slot(channel, lane)] = steak[channel.name]
        return tuple(Slot(c, lane) for c in (channels.STEAK, channels.READING, channels.FORECAST))

    def _reading(self, reading: Json) -> Iterable[Slot]:
        lane = self._lane(reading["steak"])
        if lane is None:
            return ()
        self._curves[reading["steak"]].add(reading["t"], reading["celsius"])
        self._put(channels.READING, {key: reading[key] for key in ("t", "celsius")}, lane)
        return (Slot(channels.READING, lane), Slot(channels.CURVE, lane))

    def _forecast(self, forecast: Json) -> Iterable[Slot]:
        lane = self._lane(forecast["steak"])
        return () if lane is None else self._put(channels.FORECAST, forecast, lane)

    def _curve(self, lane: int | None) -> Json | None:
        if lane is None or lane > len(self.names):
            return None
        return {"points": self._curves[self.names[lane - 1]].points()}

    def _deed(self, kind: str, deed: Json) -> Iterable[Slot]:
        deeds = self._bodies[Slot(channels.DEEDS)] or {}
        return self._put(channels.DEEDS, {**deeds, kind: [*deeds[kind], deed][-_MOST_DEEDS:]})

    def _undo(self, undo: Json) -> Iterable[Slot]:
        deeds = self._bodies[Slot(channels.DEEDS)] or {}
        stand = {kind: [d for d in all if d["id"] != undo["id"]] for kind, all in deeds.items()}
        return self._put(channels.DEEDS, stand)

    def _setting(self, setting: Json) -> Iterable[Slot]:
        """The cook said what time it is: the start of the cook was set right, and the wall with
        it."""
        if setting["steak"] is None and setting["name"] == "started":
            self._wall, self._wall_t = datetime.fromisoformat(setting["value"]), 0.0
        return ()

    def _call(self, call: Json) -> Iterable[Slot]:
        self._calls.announce(call)
        return (Slot(channels.CALLS),)

    def _call_state(self, change: Json) -> Iterable[Slot]:
        self._calls.change(change["id"], change["state"])
        return (Slot(channels.CALLS),)
