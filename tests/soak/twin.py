"""The same cook without any fault, and how the calls of the two differ.

The twin is the core fed with the same acts at the same times, and with every reading as it was
before the faults took or spoiled it.
"""

from __future__ import annotations

import json
from collections import Counter, defaultdict, deque
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from pullcall.events import Call, CallKind, CookHeader, Input, Reading
from pullcall.events import Condition as FaultAround
from pullcall.log.call_records import call_record
from pullcall.log.cook_file import CookFile
from pullcall.log.replay import replay

#: A cook's first and last readings may be so much older than its zero and its last record: they
#: waited while it was begun.
AROUND_S = 120.0
Calls = list[Mapping[str, Any]]
#: What tells of a fault is not compared.
OF_FAULTS = frozenset(
    {
        CallKind.PROBE_LOST,
        CallKind.PROBE_WRONG,
        CallKind.FORECAST_SHAKY,
        CallKind.UNHEARD,
        CallKind.RECORDER_TROUBLE,
        CallKind.CLOCK_JUMPED,
        CallKind.CLOCK_UNSET,
        CallKind.BATTERY_LOW,
    }
)
#: A lost or spoiled reading may bear on the calls of so many seconds after it.
BEARS_S = 120.0
#: Calls that are not further apart are the same call, put off by another one's words, seconds.
NEAR_S = 6.0
#: One that is not urgent may wait so long while a fault is told, or be over by then.
WAITS_S = 20.0


@dataclass(frozen=True, slots=True)
class Taped:
    """One value as it was: ``at`` on the site's clock; ``fate`` "same", "lost" or "spoiled"."""

    at: float
    channel: str
    celsius: float
    fate: str


@dataclass(slots=True)
class Difference:
    """How many calls of one cook are equal, put off, or differ with or without lost readings."""

    equal: int = 0
    near: int = 0
    lost_readings: int = 0
    unexplained: list[str] = field(default_factory=list)

    def __iadd__(self, other: Difference) -> Difference:
        self.equal += other.equal
        self.near += other.near
        self.lost_readings += other.lost_readings
        self.unexplained += other.unexplained
        return self


def read_tape(path: Path) -> tuple[Taped, ...]:
    """A tape of FlakySource."""
    with path.open(encoding="utf-8") as lines:
        return tuple(Taped(*json.loads(line)) for line in lines)


def twin(cook: CookFile, tape: Sequence[Taped], zero: float) -> CookFile:
    """``cook`` as it would have been logged without faults; ``zero`` is its zero on the clock."""
    taped: defaultdict[str, deque[Taped]] = defaultdict(deque)
    for one in tape:
        taped[one.channel].append(one)
    inputs = list(_whole(cook.inputs, taped))
    steaks = _steaks(cook.header)
    ends_t = cook.ends_t
    missing = [
        Reading(round(one.at - zero, 3), steaks.get(one.channel), one.celsius, one.channel)
        for one in tape
        if one.fate == "lost" and 0.0 <= one.at - zero <= ends_t
    ]
    return replace(cook, inputs=tuple(sorted([*inputs, *missing], key=lambda event: event.t)))


def _whole(inputs: Iterable[Input], taped: Mapping[str, deque[Taped]]) -> Iterator[Input]:
    """What was logged, but the faults told of; spoiled values as they were.

    The log has a channel's values in the order of the tape, where those lost are left out.
    """
    for event in inputs:
        if isinstance(event, FaultAround):
            continue
        if isinstance(event, Reading) and event.channel is not None:
            yield replace(event, celsius=_as_it_was(event, taped[event.channel]))
        else:
            yield event


def _as_it_was(reading: Reading, taped: deque[Taped]) -> float:
    while taped:
        one = taped.popleft()
        if one.fate == "spoiled" or (
            one.fate == "same" and abs(one.celsius - reading.celsius) < 0.001
        ):
            return round(one.celsius, 3)
    raise ValueError(f"the tape does not have the reading at {reading.t}")


def _steaks(header: CookHeader) -> dict[str, str]:
    return {one.channel: one.steak for one in header.steaks if one.channel}


def compare(
    said: Iterable[Mapping[str, Any]], free: Iterable[Call], lost_t: Iterable[float]
) -> Difference:
    """How the calls ``said`` on the day differ from those without faults.

    ``lost_t`` are the times of readings lost or spoiled, cook seconds. That a steak was never
    called off is explained by nothing.
    """
    found, every = Difference(), tuple(said)
    mine, others = _firsts(every), _firsts(map(call_record, free))
    exact = Counter(map(_key, mine)) & Counter(map(_key, others))
    found.equal = exact.total()
    mine, others = _without(mine, exact), _without(others, exact)
    for call in tuple(mine):
        near = next((other for other in others if _is_near(call, other)), None)
        if near is not None:
            mine.remove(call)
            others.remove(near)
            found.near += 1
    for steak in sorted(_pulled(others) - _pulled(every)):
        found.unexplained.append(f"missing: {steak} was never called off")
    told_t = [call["t"] for call in every if call["call"] in OF_FAULTS]
    _explain(found, "only with faults", mine, told_t, tuple(lost_t))
    _explain(found, "missing", others, told_t, tuple(lost_t))
    return found


def _firsts(calls: Iterable[Mapping[str, Any]]) -> Calls:
    """What is compared: how often an alarm is repeated depends on what else is to be said."""
    firsts: dict[str, Mapping[str, Any]] = {}
    for call in calls:
        if call["call"] not in OF_FAULTS:
            firsts.setdefault(f"{call['id']} {call['in_s']}", call)
    return list(firsts.values())


def _explain(
    found: Difference, words: str, calls: Calls, told_t: Sequence[float], lost_t: Sequence[float]
) -> None:
    for call in calls:
        if call["priority"] > 1 and _has_since(told_t, call["t"], WAITS_S):
            found.near += 1
        elif _has_since(lost_t, call["t"], BEARS_S):
            found.lost_readings += 1
        else:
            found.unexplained.append(f"{words}: {call['t']:.0f} s {call['text']}")


def _has_since(moments: Iterable[float], t: float, seconds: float) -> bool:
    """Whether one of them lies in the ``seconds`` before ``t``."""
    return any(0.0 <= t - moment <= seconds for moment in moments)


def compare_cook(
    cook: CookFile, said: Iterable[Mapping[str, Any]], tape: Sequence[Taped], zero: float
) -> Difference:
    """Compare one logged cook with its twin."""
    near = [one for one in tape if -AROUND_S <= one.at - zero <= cook.ends_t + AROUND_S]
    whole = twin(cook, near, zero)
    lost_t = [one.at - zero for one in near if one.fate != "same"]
    return compare(said, (one for one in replay(whole) if isinstance(one, Call)), lost_t)


def _pulled(calls: Iterable[Mapping[str, Any]]) -> set[str]:
    """The steaks that "pull now" was called for."""
    told = [call["steak"] for call in calls if call["call"] == CallKind.PULL_NOW]
    return {name for steak in told for name in ([steak] if isinstance(steak, str) else steak)}


def _key(call: Mapping[str, Any]) -> tuple[Any, ...]:
    return (call["t"], call["call"], str(call["steak"]), call["in_s"])


def _is_near(one: Mapping[str, Any], other: Mapping[str, Any]) -> bool:
    same = _key(one)[1:3] == _key(other)[1:3]
    return same and abs(float(one["t"]) - float(other["t"])) <= NEAR_S


def _without(calls: Iterable[Mapping[str, Any]], gone: Counter[tuple[Any, ...]]) -> Calls:
    left = gone.copy()
    kept = []
    for call in calls:
        if left[_key(call)]:
            left[_key(call)] -= 1
        else:
            kept.append(call)
    return kept
