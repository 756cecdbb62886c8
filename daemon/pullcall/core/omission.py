"""Inputs of a cook that are logged and left out, for the core fails at them."""

from __future__ import annotations

from bisect import bisect_right
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from pullcall.events import Input

Kinds = tuple[type[Input], ...]


@dataclass(frozen=True, slots=True)
class Span:
    """Every input of these ``kinds`` from ``since`` to ``until``, cook seconds."""

    kinds: Kinds
    since: float
    until: float


@dataclass(frozen=True, slots=True)
class Omission:
    """At ``t`` it was found that the cook has to do without these, for the core failed at
    ``failed_t``, cook seconds; ``why`` is the kind of mistake."""

    t: float
    what: Input | Span
    failed_t: float
    why: str


def without(inputs: Iterable[Input], omissions: Iterable[Omission]) -> tuple[Input, ...]:
    """What is left of inputs in time order. Of several that are equal the last one goes."""
    spans, single = _Spans(), Counter[Input]()
    for omission in omissions:
        if isinstance(omission.what, Span):
            spans.add(omission.what)
        else:
            single[omission.what] += 1
    left: list[Input] = []
    for event in reversed([event for event in inputs if not spans.hold(event)]):
        if single[event] > 0:
            single[event] -= 1
        else:
            left.append(event)
    return tuple(reversed(left))


class _Spans:
    """Spans of each kind, joined where they meet: a file of elsewhere may have any number."""

    def __init__(self) -> None:
        self._asked: dict[type[Input], list[tuple[float, float]]] = {}
        self._joined: dict[type[Input], list[tuple[float, float]]] = {}

    def add(self, span: Span) -> None:
        """Take one more, before the first question."""
        for kind in span.kinds:
            self._asked.setdefault(kind, []).append((span.since, span.until))

    def hold(self, event: Input) -> bool:
        """Whether an input lies in one of them."""
        kind = type(event)
        if kind not in self._asked:
            return False
        if kind not in self._joined:
            self._joined[kind] = _joined(self._asked[kind])
        ends = self._joined[kind]
        place = bisect_right(ends, (event.t, float("inf"))) - 1
        return place >= 0 and event.t <= ends[place][1]


def _joined(spans: Iterable[tuple[float, float]]) -> list[tuple[float, float]]:
    joined: list[tuple[float, float]] = []
    for since, until in sorted(spans):
        if joined and since <= joined[-1][1]:
            joined[-1] = joined[-1][0], max(joined[-1][1], until)
        else:
            joined.append((since, until))
    return joined
