"""Messages without what would tell a rival the targets. What is not named here is left out."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Any

from pullcall.events import CallKind

Json = dict[str, Any]

#: No ``next``: a planned turn goes when a pull is due, which would tell it.
_STEAK = ("steak", "phase", "on_t", "off_t", "thickness_mm", "start_c", "reading", "curve")
_FORECAST = ("t", "steak", "core_c", "rise_c_per_min", "rise_window_s", "rest_in_s")
_COOK = ("id", "started", "rest_on", "plan", "window", "window_t", "simulated")
#: Calls that tell what everybody at the grill sees; a pull call would tell the target.
_CALLS = frozenset({CallKind.TURN, CallKind.FLIP, CallKind.REST_DONE})
#: Of a snapshot, what is shown as it is.
_SNAPSHOT = (
    "epoch", "seq", "t", "wall", "speed", "mode", "ends_t", "unit", "marks", "spots", "heard_s"
)  # fmt: skip


def stripped(message: Json) -> Json | None:
    """The message as a watcher without targets gets it; None if there is nothing left."""
    strip = _STRIP.get(message["type"])
    return None if strip is None else strip(message)


def _only(message: Mapping[str, Any], names: tuple[str, ...]) -> Json:
    return {name: message[name] for name in names if name in message}


def _headed(message: Json, names: tuple[str, ...]) -> Json:
    return _only(message, ("type", "seq", *names))


def _forecast(message: Json) -> Json:
    return _headed(message, _FORECAST)


def _one_steak(steak: Json) -> Json:
    forecast = steak.get("forecast")
    told = {**_only(steak, _STEAK), "next": None}
    return {**told, "forecast": forecast and _only(forecast, _FORECAST)}


def _steak(message: Json) -> Json:
    return {**_headed(message, ()), **_one_steak(message)}


def _call(message: Json) -> Json | None:
    return message if message["call"] in _CALLS else None


def _calls(calls: list[Json]) -> list[Json]:
    return [call for call in calls if call["call"] in _CALLS]


def _cook(message: Json) -> Json:
    return {**message, "cook": _only(message["cook"], _COOK)}


def _snapshot(message: Json) -> Json:
    return {
        **_headed(message, _SNAPSHOT),
        "banner": None,
        "cook": _only(message["cook"], _COOK),
        "steaks": [_one_steak(steak) for steak in message["steaks"]],
        "calls": _calls(message["calls"]),
        **{name: [] for name in ("schedule", "probes", "proposals", "readiness", "outlets")},
        **dict.fromkeys(("adapter", "fire", "plan")),
    }


def _whole(message: Json) -> Json:
    return message


_STRIP: Mapping[str, Callable[[Json], Json | None]] = MappingProxyType(
    {
        "snapshot": _snapshot,
        "forecast": _forecast,
        "steak": _steak,
        "call": _call,
        "cook": _cook,
        **dict.fromkeys(("tick", "reading", "mark", "spot", "undo", "call_state"), _whole),
    }
)
