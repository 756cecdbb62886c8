"""A site for tests of the bus: a real core, view, hub and log, and no task of its own."""

from __future__ import annotations

import asyncio
from pathlib import Path
from typing import Any

from pullcall.core.cook import Cook
from pullcall.events import CookHeader, Input, Mark, MarkKind
from pullcall.hindsight.study import steps
from pullcall.log.cook_file import CookFile
from pullcall.log.entries import Entry
from pullcall.log.store import Store
from pullcall.site.hub import Hub
from pullcall.site.view import View
from tests.bus.told import snapshot_of

Json = dict[str, Any]


class Place:
    """Stands still at ``t`` cook seconds until told."""

    def __init__(self, log: Path, header: CookHeader) -> None:
        self.hub = Hub()
        self.store = Store(log)
        self.t = 0.0
        self.snapshots = 0
        self._begin(header)

    def snapshot(self) -> Json:
        self.snapshots += 1
        return snapshot_of(self.view, self.t)

    def lines(self) -> list[str]:
        """The cook as it is logged."""
        return self.store.lines(self.view.cook.header.cook)

    def take(self, event: Input) -> None:
        """An input, as a site takes it."""
        self.store.write([Entry(self.view.cook.header.cook, event)])
        self.t = max(self.t, event.t)
        effects = self.view.cook.apply(event)
        self.view.show_input(event)
        self.view.show_effects(effects, self.t)

    def mark(self, kind: MarkKind, t: float) -> None:
        self.take(Mark(t, None, kind, f"{kind}-{t:g}"))

    def tick(self, t: float) -> None:
        """A second of the beat."""
        self.t = t
        self.hub.whisper("tick", {"t": t})

    async def play(self, recorded: CookFile) -> None:
        """A whole cook as fast as it goes, giving others a turn at each step."""
        cook = recorded.header.cook
        for event, effects, t in steps(self.view.cook, recorded.inputs):
            self.t = t
            if event is not None:
                self.store.write([Entry(cook, event)])
                self.view.show_input(event)
            self.view.show_effects(effects, t)
            await asyncio.sleep(0)
        self.tick(self.t)

    def next_cook(self, header: CookHeader) -> None:
        self.hub.restart()
        self.t = 0.0
        self._begin(header)
        self.hub.publish("snapshot", self.snapshot())

    def close(self) -> None:
        self.hub.close()
        self.store.close()

    def _begin(self, header: CookHeader) -> None:
        self.store.begin(header, "boot", 0.0)
        self.view = View(Cook(header), self.hub)
