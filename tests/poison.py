"""Makes the core fail where a test wants it, as a mistake in it would: the forecast raises."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from pullcall.events import Forecast, Mark, Reading, Setting, Spot
from pullcall.forecast.engine import ForecastEngine

Given = Reading | Spot | Mark | Setting
#: A reading or a spot of this is poison, where a test says so, Celsius.
POISON_C = 51.237


class PoisonedError(Exception):
    """Nobody foresaw this one."""


def is_poisoned(event: object) -> bool:
    """Whether it is a reading or a spot of just this temperature."""
    return isinstance(event, Reading | Spot) and event.celsius == POISON_C


def fail_at(monkeypatch: pytest.MonkeyPatch, is_poison: Callable[[object], bool]) -> None:
    """The core fails whenever it takes such an input."""
    update = ForecastEngine.update

    def poisoned(self: ForecastEngine, event: Given) -> None:
        if is_poison(event):
            raise PoisonedError
        update(self, event)

    monkeypatch.setattr(ForecastEngine, "update", poisoned)


def fail_after(
    monkeypatch: pytest.MonkeyPatch,
    is_poison: Callable[[object], bool],
    after_s: float,
    lasts_s: float = 1e9,
) -> None:
    """The core takes such an input well, and fails at the first forecast ``after_s`` later."""
    update, forecast = ForecastEngine.update, ForecastEngine.forecast

    def taken(self: ForecastEngine, event: Given) -> None:
        if is_poison(event):
            self.fails_t = event.t + after_s  # type: ignore[attr-defined]
        update(self, event)

    def told(self: ForecastEngine, steak: str, now: float) -> Forecast:
        fails_t = getattr(self, "fails_t", float("inf"))
        if fails_t <= now < fails_t + lasts_s:
            raise PoisonedError
        return forecast(self, steak, now)

    monkeypatch.setattr(ForecastEngine, "update", taken)
    monkeypatch.setattr(ForecastEngine, "forecast", told)


def fail_at_each_after(
    monkeypatch: pytest.MonkeyPatch, is_poison: Callable[[object], bool]
) -> None:
    """The core takes such an input well, and fails at every reading after it."""
    update = ForecastEngine.update

    def taken(self: ForecastEngine, event: Given) -> None:
        if isinstance(event, Reading) and getattr(self, "is_spoilt", False):
            raise PoisonedError
        if is_poison(event):
            self.is_spoilt = True  # type: ignore[attr-defined]
        update(self, event)

    monkeypatch.setattr(ForecastEngine, "update", taken)


def fail_when(monkeypatch: pytest.MonkeyPatch, is_time: Callable[[float], bool]) -> None:
    """The core fails at seconds of a cook with something on, whatever was put in."""
    forecast = ForecastEngine.forecast

    def told(self: ForecastEngine, steak: str, now: float) -> Forecast:
        if is_time(now):
            raise PoisonedError
        return forecast(self, steak, now)

    monkeypatch.setattr(ForecastEngine, "forecast", told)
