"""A logged cook played into the page: the same core and view, on the recorded clock."""

from __future__ import annotations

import asyncio
import math
from collections.abc import Callable
from datetime import datetime
from typing import Any

from pullcall.clock import AcceleratedClock
from pullcall.core.cook import Cook
from pullcall.errors import RefusedError, UnknownNameError
from pullcall.events import Input, SteakSettings, Window
from pullcall.log.cook_file import CookFile
from pullcall.log.store import CookEntry
from pullcall.site.hub import Hub
from pullcall.site.view import View

_REFUSAL = "This is a replay of a cook that is over: marks, spots and answers are off."


class Player:
    """Looks like a site to the page, but takes nothing in."""

    def __init__(self, recorded: CookFile, clock: AcceleratedClock, unit: str) -> None:
        self.hub = Hub()
        self.cook = Cook(recorded.header)
        self._recorded = recorded
        self._clock = clock
        self._unit = unit
        self._view = View(self.cook, self.hub)
        self._starts = min(0.0, recorded.inputs[0].t) if recorded.inputs else 0.0
        self._ends = max((event.t for event in recorded.inputs), default=0.0)

    def now(self) -> float:
        """Seconds since the cook's zero, as recorded; stands still at the end."""
        return min(self._starts + self._clock.monotonic(), self._ends)

    async def take(self, make: Callable[[float], Input]) -> Input:
        """Refuse: a replay takes nothing in."""
        raise RefusedError(_REFUSAL)

    async def set_clock(self, wall: datetime) -> None:
        """Refuse: a replay takes nothing in."""
        raise RefusedError(_REFUSAL)

    def window(self, text: str) -> Window:
        """Refuse: a replay takes nothing in."""
        raise RefusedError(_REFUSAL)

    def phone_seen(self, phone: str, armed: bool) -> None:
        """Nothing waits for phones in a replay."""

    def receipt(self, phone: str, call: str) -> None:
        """Nothing waits for receipts in a replay."""

    async def clip(self, id: str) -> bytes:
        """Refuse: what was said then is not said again."""
        raise UnknownNameError("A replay does not speak: it sounds tones only.")

    async def begin(self, steaks: tuple[SteakSettings, ...] | None) -> str:
        """Refuse: a replay takes nothing in."""
        raise RefusedError(_REFUSAL)

    def snapshot(self) -> dict[str, Any]:
        """What the page showed at this moment of the cook."""
        return {
            "epoch": self.hub.epoch,
            "seq": self.hub.seq,
            "wall": self._clock.wall().isoformat(timespec="seconds"),
            "speed": self._clock.speed,
            "mode": "replay",
            "unit": self._unit,
            "ends_t": self._ends,
            "banner": None,
            **self._view.snapshot(self.now()),
            **self.probes(),
            "readiness": [],
            "outlets": [],
        }

    def probes(self) -> dict[str, Any]:
        """A replay hears no probe."""
        return {"probes": [], "adapter": None}

    async def cooks(self) -> tuple[CookEntry, ...]:
        """Only this one."""
        return (CookEntry(self._recorded.header, "replay", 0.0, None),)

    async def run(self) -> None:
        """Play to the end, then keep showing it until cancelled."""
        async with asyncio.TaskGroup() as tasks:
            tasks.create_task(self._play(), name="play")
            tasks.create_task(self._beat_loop(), name="beat")

    def close(self) -> None:
        """Let pages go."""
        self.hub.close()

    async def _play(self) -> None:
        for event in self._recorded.inputs:
            await self._run_ticks_before(event.t)
            await self._clock.sleep_until(event.t - self._starts)
            effects = self.cook.apply(event)
            self._view.show_input(event)
            self._view.show_effects(effects, event.t)
        self._view.show_effects(self.cook.advance(self._ends), self._ends)

    async def _run_ticks_before(self, t: float) -> None:
        """Between two records every second is shown when it comes."""
        while (tick := float(math.floor(self.now()) + 1)) < t:
            await self._clock.sleep_until(tick - self._starts)
            self._view.show_effects(self.cook.advance(tick), tick)

    async def _beat_loop(self) -> None:
        while True:
            self.hub.whisper("tick", {"t": round(self.now(), 3)})
            await asyncio.sleep(1.0)
