"""Small cooks for tests: straight rises, made by hand. Simulated, like every cook in the tests."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from pullcall.events import CookHeader, Input, Mark, MarkKind, Reading, SteakSettings

HEADER = CookHeader("test-cook", "2026-06-13T13:40:00+00:00", simulated=True)
ONE = CookHeader(
    "one-steak",
    "2026-06-13T13:40:00+00:00",
    steaks=(SteakSettings("left", pull_c=54.0),),
    simulated=True,
)


def on(t: float = 0.0, steak: str | None = None) -> Mark:
    """A mark "on"."""
    return Mark(t, steak, MarkKind.ON, f"on-{steak}-{t:g}")


def off(t: float, steak: str | None = None) -> Mark:
    """A mark "off"."""
    return Mark(t, steak, MarkKind.OFF, f"off-{steak}-{t:g}")


def rising(
    steak: str, start_t: float, end_t: float, celsius: float, per_second: float
) -> Iterator[Reading]:
    """Readings each half second along a straight line through ``celsius`` at ``start_t``."""
    for k in range(round((end_t - start_t) * 2) + 1):
        t = start_t + k / 2
        yield Reading(t, steak, round(celsius + per_second * (t - start_t), 3), f"{steak}/1")


def in_time_order(*groups: Iterable[Input]) -> list[Input]:
    """Several streams of inputs as one."""
    return sorted((event for group in groups for event in group), key=lambda event: event.t)


def two_steak_cook(end_t: float = 400.0) -> list[Input]:
    """Two steaks on at 0; left crosses 53.9 C at about 300 s, right at about 320 s."""
    return in_time_order(
        [on(0.1)],
        rising("left", 0.2, end_t, 5.0, 48.9 / 300.0),
        rising("right", 0.3, end_t, 5.0, 48.9 / 320.0),
    )
