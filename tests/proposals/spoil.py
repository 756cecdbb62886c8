"""Ways to change a cook's readings: the probe leaves the meat, slips, or is pulled and put back."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from math import exp

from pullcall.events import Input, Mark, MarkKind, Reading

AIR_C = 22.0


def offs(inputs: Iterable[Input]) -> dict[str, float]:
    """When each steak came off."""
    return {
        e.steak: e.t
        for e in inputs
        if isinstance(e, Mark) and e.mark is MarkKind.OFF and e.steak is not None
    }


def changed(
    inputs: Sequence[Input], steak: str, since: float, to: Callable[[float, float], float]
) -> list[Input]:
    """Readings of a steak from ``since`` on, each ``to(seconds since, celsius)``."""
    return [
        replace(e, celsius=round(to(e.t - since, e.celsius), 1))
        if isinstance(e, Reading) and e.steak == steak and e.t >= since
        else e
        for e in inputs
    ]


def left_meat(inputs: Sequence[Input], steak: str, since: float, lag_s: float) -> list[Input]:
    """The probe cools in air as a body of one time constant (Newton's law of cooling)."""
    before = [e for e in inputs if isinstance(e, Reading) and e.steak == steak and e.t < since]
    start_c = before[-1].celsius
    return changed(inputs, steak, since, lambda s, _: AIR_C + (start_c - AIR_C) * exp(-s / lag_s))


def slipped(inputs: Sequence[Input], steak: str, since: float, by_c: float) -> list[Input]:
    """The probe sits elsewhere in the meat, where it is hotter or colder by ``by_c``."""
    return changed(inputs, steak, since, lambda _, celsius: celsius + by_c)


def pulled_and_put_back(
    inputs: Sequence[Input], steak: str, since: float, for_s: float, lag_s: float = 6.0
) -> list[Input]:
    """Out of the meat for ``for_s``, then back in the same place; both with the probe's lag."""

    def to(s: float, celsius: float) -> float:
        out = 1.0 - exp(-min(s, for_s) / lag_s)
        return celsius - out * (celsius - AIR_C) * exp(-max(0.0, s - for_s) / lag_s)

    return changed(inputs, steak, since, to)
