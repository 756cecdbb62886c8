"""A site as a device of the Homie convention, version 5: what it has, and what that says now.

Source: homieiot.github.io, convention 5.0 (May 2025).
"""

from __future__ import annotations

import zlib
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from pullcall.bus import channels
from pullcall.bus.channels import Channel
from pullcall.bus.mirror import Mirror
from pullcall.bus.publication import Json
from pullcall.bus.slot import Slot
from pullcall.calls.alarm import CallState
from pullcall.calls.rules import ALARMS
from pullcall.core.phase import Phase, Stage, stage_of
from pullcall.fire.state import FireState
from pullcall.log.records import to_line

#: The version of the convention, without its patch level.
HOMIE = "5.0"
#: How the convention writes a text of no letters; a payload of no bytes is no value.
NOTHING = "\0"


@dataclass(frozen=True, slots=True)
class Property:
    """One property of a node. Nobody can set any: a site is looked at."""

    name: str
    datatype: str
    unit: str | None = None
    format: str | None = None

    def described(self) -> Json:
        """As the description has it."""
        whole = {
            "name": self.name,
            "datatype": self.datatype,
            "format": self.format,
            "unit": self.unit,
            "settable": False,
            "retained": True,
        }
        return {key: value for key, value in whole.items() if value is not None}


_COOK = {
    "stage": Property("Stage", "enum", format=",".join(Stage)),
    "next": Property("Next act", "string"),
    "next-due": Property("Next act due", "datetime"),
    "chance": Property("Chance to hand in inside the window", "float", "%", "0:100"),
}
_STEAK = {
    "core": Property("Core temperature", "float", "°C"),
    "phase": Property("Phase", "enum", format=",".join(Phase)),
    "pull-in": Property("Pull in", "integer", "s", "0:"),
    "peak": Property("Expected peak", "float", "°C"),
    "rise": Property("Rise per minute", "float", "°C/min"),
}
_GRATE = {
    "temperature": Property("Temperature", "float", "°C"),
    "state": Property("State", "enum", format=",".join(FireState)),
}
_ALARMS = {
    "priority": Property("Priority, 1 the most urgent, 0 none", "integer", format="0:3"),
    "words": Property("Words", "string"),
}


def nodes(steaks: tuple[str, ...]) -> dict[str, tuple[str, dict[str, Property]]]:
    """The nodes by their ids: what people call each, and its properties."""
    lanes = {f"steak-{k}": (steak.capitalize(), _STEAK) for k, steak in enumerate(steaks, start=1)}
    others = {"grate": ("Grate", _GRATE), "alarms": ("Alarms", _ALARMS)}
    return {"cook": ("Cook", _COOK), **lanes, **others}


def properties(steaks: tuple[str, ...]) -> tuple[str, ...]:
    """Every property as it stands in a topic below the device."""
    return tuple(f"{node}/{one}" for node, (_, all) in nodes(steaks).items() for one in all)


def description(name: str, steaks: tuple[str, ...]) -> str:
    """The description document; its version is worked out from what it says."""
    told = {
        node: {"name": said, "properties": {id: one.described() for id, one in all.items()}}
        for node, (said, all) in nodes(steaks).items()
    }
    document = {"homie": HOMIE, "name": name, "nodes": told}
    return to_line({**document, "version": zlib.crc32(to_line(document).encode())})


def values(mirror: Mirror, now: float) -> dict[str, str]:
    """What each property says at ``now``, monotonic seconds; one that says nothing is left out."""
    lanes = [(f"steak-{lane}", lane) for lane, _ in enumerate(mirror.names, start=1)]
    said = {**_cook_values(mirror, now), **_grate_values(mirror), **_alarm_values(mirror)}
    for node, lane in lanes:
        said |= {f"{node}/{id}": one for id, one in _steak_values(mirror, lane).items()}
    return {id: one for id, one in said.items() if one is not None}


def _cook_values(mirror: Mirror, now: float) -> dict[str, str | None]:
    t = mirror.clock.now(now) if mirror.clock else 0.0
    coming = next((c for c in _calls(mirror, channels.SCHEDULE) if c["due_t"] >= t), None)
    plan = _part(mirror, channels.PLAN, "plan")
    started = (mirror.body(Slot(channels.COOK)) or {}).get("started")
    return {
        "cook/stage": _stage(mirror),
        "cook/next": coming["text"] if coming else NOTHING,
        "cook/next-due": _moment(started, coming["due_t"]) if coming and started else None,
        "cook/chance": _number(plan.get("chance"), 1, times=100.0),
    }


def _stage(mirror: Mirror) -> str:
    """The same as a board shows."""
    lanes = range(1, len(mirror.names) + 1)
    told = (_body(mirror, channels.STEAK, lane).get("phase") for lane in lanes)
    return stage_of({Phase(phase) for phase in told if phase is not None})


def _steak_values(mirror: Mirror, lane: int) -> dict[str, str | None]:
    forecast = _body(mirror, channels.FORECAST, lane)
    reading = _body(mirror, channels.READING, lane)
    pull = forecast.get("pull_in_s")
    peak = forecast.get("peak_c")
    return {
        "core": _number(reading.get("celsius", forecast.get("core_c")), 1),
        "phase": _body(mirror, channels.STEAK, lane).get("phase"),
        "pull-in": f"{max(0, round(pull['p50']))}" if pull else None,
        "peak": _number(peak["p50"], 1) if peak else None,
        "rise": _number(forecast.get("rise_c_per_min"), 1),
    }


def _grate_values(mirror: Mirror) -> dict[str, str | None]:
    fire = _part(mirror, channels.GRATE, "fire")
    return {
        "grate/temperature": _number(fire.get("celsius"), 0),
        "grate/state": fire.get("state"),
    }


def _alarm_values(mirror: Mirror) -> dict[str, str | None]:
    """The most urgent alarm that lives; of several the latest."""
    live = [c for c in _calls(mirror, channels.CALLS) if c["call"] in ALARMS and _lives(c)]
    first = min(live, key=lambda call: (call["priority"], -call["t"]), default=None)
    return {
        "alarms/priority": f"{first['priority']}" if first else "0",
        "alarms/words": first["text"] if first else NOTHING,
    }


def _lives(call: Json) -> bool:
    return bool(call["state"] != CallState.CLEARED)


def _body(mirror: Mirror, channel: Channel, lane: int) -> Json:
    return mirror.body(Slot(channel, lane)) or {}


def _part(mirror: Mirror, channel: Channel, key: str) -> Json:
    return (mirror.body(Slot(channel)) or {}).get(key) or {}


def _calls(mirror: Mirror, channel: Channel) -> Iterable[Json]:
    return (mirror.body(Slot(channel)) or {}).get("calls") or ()


def _moment(started: str, t: float) -> str:
    return (datetime.fromisoformat(started) + timedelta(seconds=t)).isoformat(timespec="seconds")


def _number(value: float | None, digits: int, times: float = 1.0) -> str | None:
    """A float as the convention writes it: never with a minus before nothing."""
    return None if value is None else f"{round(value * times, digits) + 0.0:.{digits}f}"
