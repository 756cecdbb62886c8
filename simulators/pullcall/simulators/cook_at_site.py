"""The simulated cook at a site: what it does is told there, and what people tap is told to it."""

from __future__ import annotations

import asyncio
import secrets
from collections.abc import Callable
from contextlib import suppress
from dataclasses import replace
from datetime import timedelta
from functools import partial
from typing import Protocol

from pullcall.clock import Clock
from pullcall.core.setup import window_text
from pullcall.errors import RefusedError, UnknownNameError
from pullcall.events import Call, CallKind, End, Input, Mark, MarkKind, Setting, Spot, Window
from pullcall.simulators.day import MORNING, WINDOW_S
from pullcall.simulators.scenario import Pulls, Scenario, scenario
from pullcall.simulators.source import SimulatedSource


class Workplace(Protocol):
    """The part of a site that a cook works with."""

    async def take(self, make: Callable[[float], Input]) -> Input:
        """Take an input, made from its cook time. Raises RefusedError."""

    def hear(self, hearer: Callable[[Input], None]) -> None:
        """Let ``hearer`` know of every input of a person, and of the end of a cook."""

    def hear_calls(self, hearer: Callable[[Call], None]) -> None:
        """Let ``hearer`` know of every call."""


class CookAtSite:
    """Hands what the simulated cook does to the site, and what people tap to the kitchen.

    A cook that ends is followed by that of the next day, over another fire.
    """

    def __init__(self) -> None:
        self._site: Workplace | None = None
        self._new_day: asyncio.Task[None] | None = None

    def works_at(self, site: Workplace, source: SimulatedSource, clock: Clock) -> None:
        """Begin to work there."""

        def hear(event: Input) -> None:
            if isinstance(event, Mark):
                source.hear(event)
            elif isinstance(event, End):
                day = source.scenario
                source.begin_again(obeying(scenario(day.name, day.seed + 1)))
                self._new_day = asyncio.create_task(
                    self._prepare(source.scenario, clock), name="new day"
                )

        def obey(call: Call) -> None:
            if call.call is CallKind.PULL_NOW:
                for steak in call.steaks:
                    with suppress(UnknownNameError):  # a cook with other steaks began
                        source.told_to_pull(steak)

        self._site = site
        site.hear(hear)
        site.hear_calls(obey)

    async def mark(self, kind: MarkKind, steak: str | None) -> None:
        """Tell the site what was done."""
        id = secrets.token_hex(4)
        await self._workplace.take(lambda t: Mark(t, steak, kind, id))

    async def had_a_morning(self) -> None:
        """Mark what was done before the steaks go on."""
        for kind, ago_s in MORNING:
            await self._workplace.take(partial(_earlier, kind, secrets.token_hex(4), ago_s))

    async def spot(self, steak: str, celsius: float) -> None:
        """Tell the site what the hand-held thermometer showed."""
        id = secrets.token_hex(4)
        await self._workplace.take(lambda t: Spot(t, steak, round(celsius, 2), id))

    @property
    def _workplace(self) -> Workplace:
        assert self._site is not None, "it works nowhere yet"
        return self._site

    async def _prepare(self, day: Scenario, clock: Clock) -> None:
        """Measure the steaks of another cook, learn its window and mark its morning."""
        site, window = self._workplace, window_text(window_after(clock))
        await site.take(lambda t: Setting(t, None, "window", window))
        for steak in (scene.settings() for scene in day.steaks):
            for name, value in (("thickness_mm", steak.thickness_mm), ("start_c", steak.start_c)):
                with suppress(RefusedError):  # a cook with other steaks began
                    await site.take(partial(_measured, steak.steak, name, value))
        await self.had_a_morning()


def obeying(chosen: Scenario) -> Scenario:
    """The same cook, who takes a steak off when "pull now" is called instead of by the core."""
    return replace(chosen, habits=replace(chosen.habits, pulls=Pulls.WHEN_TOLD))


def window_after(clock: Clock) -> Window:
    """A turn-in window that lies so that a cook who begins now makes it."""
    opens, closes = (clock.wall() + timedelta(seconds=s) for s in WINDOW_S)
    return Window(opens.isoformat(timespec="seconds"), closes.isoformat(timespec="seconds"))


def _measured(steak: str, name: str, value: float, t: float) -> Setting:
    return Setting(t, steak, name, value)


def _earlier(kind: MarkKind, id: str, ago_s: float, t: float) -> Mark:
    return Mark(t, None, kind, id, round(t - ago_s, 3))
