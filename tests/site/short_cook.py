"""A short cook that gives every kind of write, fed through a real site with a clock that stands."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path

from pullcall.clock import RecordedClock
from pullcall.events import (
    Acknowledgement,
    CookHeader,
    Input,
    Mark,
    MarkKind,
    Setting,
    Spot,
    SteakSettings,
    Undo,
)
from pullcall.log.call_records import call_record
from pullcall.log.live_store import LiveStore
from pullcall.log.records import input_record, to_line
from pullcall.site.live import Site
from pullcall.site.options import SiteOptions
from pullcall.sources.sink import ChannelReading
from tests.desk import KeptSpeaker, desk_with
from tests.site.at_work import at_work

START = datetime(2026, 6, 13, 13, 40, tzinfo=UTC)
OPTIONS = SiteOptions(
    boot="boot-1", usual=CookHeader("", "", (SteakSettings("left", channel="p/1"),))
)

#: A reading each second from the fifth on, Celsius: the pull is called at about 26 s.
RISE_S = 34


@dataclass
class Lived:
    """What a cook at a site left: what was heard, answered and logged, and what was said of it."""

    calls: list[str] = field(default_factory=list)
    answered: list[str] = field(default_factory=list)
    records: list[list[str]] = field(default_factory=list)
    call_lines: list[list[str]] = field(default_factory=list)
    banners: set[str] = field(default_factory=set)


class Unwatched(Site):
    """A site that does not enter its own trouble as an input: its calls are those of any other."""

    def _look_around(self) -> None:
        pass


class ShortCook:
    """``between(site)`` is called after each thing that was answered."""

    def __init__(self, path: Path, between: Callable[[Site], None] = lambda site: None) -> None:
        self.path = path
        self.lived = Lived()
        self._between = between
        self._speaker = KeptSpeaker()
        self._clock = RecordedClock(START)
        self._passed = asyncio.Event()

    async def run(self, heal: Callable[[], None]) -> Lived:
        """Cook; then heal the disk, wait until all is recorded, and read the log."""
        with LiveStore(self.path, START) as store:
            desk = desk_with(self._speaker)
            site = Unwatched(store, self._clock, [], OPTIONS, desk, lambda: True, self._passed.set)
            async with at_work(site):
                await self._cook(site)
                heal()
                await recorded(site)
            cooks = [entry.id for entry in store.cooks()]
            self.lived.records = [store.lines(cook)[1:] for cook in cooks]
            self.lived.call_lines = [store.call_lines(cook) for cook in cooks]
        self.lived.calls = [to_line(call_record(call)) for call in self._speaker.said()]
        return self.lived

    async def _cook(self, site: Site) -> None:
        await self._take(site, lambda t: Setting(t, "left", "pull_c", 52.0))
        await self._take(site, lambda t: Mark(t, None, MarkKind.ON, "on"))
        await self._take(site, lambda t: Mark(t, None, MarkKind.BASTE, "baste"))
        await self._take(site, lambda t: Undo(t, "baste"))
        for second in range(1, RISE_S):
            self._clock.advance_to(float(second))
            site.reading(ChannelReading("p/1", 42.0 + 0.5 * second, float(second)))
            await self._until(site, float(second))
            self._note(site)
        alarm = site.cook.live_alarms()[0].id
        await self._take(site, lambda t: Spot(t, "left", 55.0, "spot"))
        await self._take(site, lambda t: Acknowledgement(t, alarm, "Cook"))
        await self._take(site, lambda t: Mark(t, "left", MarkKind.OFF, "off"))
        await site.begin(None)
        await self._take(site, lambda t: Setting(t, "left", "look", "last"))

    async def _take(self, site: Site, make: Callable[[float], Input]) -> None:
        self.lived.answered.append(to_line(input_record(await site.take(make))))
        self._note(site)
        self._between(site)

    async def _until(self, site: Site, now: float) -> None:
        """Wait until the loop that makes the calls went round once with everything up to now."""
        async with asyncio.timeout(60):
            while site.cook.stamp(0.0) < now:
                self._passed.clear()
                await self._passed.wait()

    def _note(self, site: Site) -> None:
        if banner := site.snapshot()["banner"]:
            self.lived.banners.add(banner)


async def recorded(site: Site) -> None:
    """Wait until nothing waits for the log."""
    async with asyncio.timeout(60):
        while site.measures.ledger.waiting or site.measures.ledger.trouble:  # noqa: ASYNC110
            await asyncio.sleep(0.001)
