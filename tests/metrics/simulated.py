"""A scrape of a site that simulates a cook, and of a board that heard of sites."""

from __future__ import annotations

import asyncio
import secrets
import tempfile
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from functools import cache
from pathlib import Path

from prometheus_client.registry import Collector

from pullcall.board.board import Board
from pullcall.board.stamp import Stamp
from pullcall.bus.bridge import Bridge, Publishing
from pullcall.bus.options import BrokerOptions
from pullcall.bus.options import SiteOptions as PublishedAs
from pullcall.bus.status import BusState, BusStatus
from pullcall.clock import RealClock, RecordedClock
from pullcall.events import Call, CookHeader, Mark, MarkKind
from pullcall.log.store import Store
from pullcall.metrics.board_collector import BoardCollector
from pullcall.metrics.exposition import expose, registry_of
from pullcall.metrics.site_collector import SiteCollector
from pullcall.metrics.streams import Streams
from pullcall.simulators.scenario import scenario
from pullcall.simulators.source import SimulatedSource
from pullcall.site.live import Site
from pullcall.site.options import SiteOptions
from pullcall.sources.sink import LinkCounts, Source
from tests.desk import KeptSpeaker, desk_with
from tests.metrics.exposed import Exposed

STARTED = datetime(2026, 6, 13, 13, 40, tzinfo=UTC)
#: Both steaks are on by then, and the first turn was called.
UNTIL_S = 135.0


@dataclass(frozen=True)
class Scraped:
    """What a scrape told, and what had been announced by then."""

    exposed: Exposed
    announced: tuple[Call, ...]


def scrape(*collectors: Collector) -> Exposed:
    """What is told in OpenMetrics."""
    return Exposed(expose(registry_of(*collectors), "").body.decode())


def scraped_site(site: Site) -> Exposed:
    """A site whose streams nobody counts."""
    return scrape(SiteCollector(site, Streams().counts))


class LinkedSource(SimulatedSource):
    """Its probes are connected to, once each."""

    def links(self) -> tuple[LinkCounts, ...]:
        """Every device."""
        return tuple(LinkCounts(probe.device, 1, 0) for probe in self.probes())


class IdleBridge(Bridge):
    """A way to the broker on which nothing is published."""

    def __init__(self, told: BusStatus) -> None:
        options = PublishedAs("north", "North grill")
        super().__init__(BrokerOptions("broker.example", 8883), options, Path("x"), RealClock())
        self.told = told

    def status(self) -> BusStatus:
        return self.told

    async def run(self, site: Publishing) -> None:
        await asyncio.Event().wait()


class SimulatedCook:
    """A kitchen whose cook taps every mark on a site."""

    def __init__(self, folder: Path) -> None:
        self.clock = RecordedClock(STARTED)
        self.speaker = KeptSpeaker()
        chosen = scenario("demo", 1)
        self.source = LinkedSource(chosen, self.clock, self._mark)
        self.store = Store(folder / "cooks.db")
        bridge = IdleBridge(BusStatus(BusState.OK))
        self.site = site_of(
            self.store, self.clock, [self.source], chosen.header(), self.speaker, bridge
        )

    async def scraped_at(self, until_s: float) -> Exposed:
        """Cook until then, and scrape in a moment of rest."""
        task = asyncio.create_task(self.site.run())
        try:
            while self.clock.monotonic() < until_s:
                self.clock.advance_to(self.clock.monotonic() + 0.5)
                await self._settled()
            return scraped_site(self.site)
        finally:
            task.cancel()
            await asyncio.gather(task, return_exceptions=True)

    async def _settled(self) -> None:
        async with asyncio.timeout(60):
            await asyncio.sleep(0.001)  # the core has no event for it
            while self._is_busy():  # noqa: ASYNC110
                await asyncio.sleep(0.001)

    def _is_busy(self) -> bool:
        is_behind = self.site.cook.next_tick <= self.clock.monotonic()
        return is_behind or self.site.measures.ledger.waiting > 0

    async def _mark(self, kind: MarkKind, steak: str | None) -> None:
        id = secrets.token_hex(4)
        await self.site.take(lambda t: Mark(t, steak, kind, id))


def site_of(
    store: Store,
    clock: RecordedClock,
    sources: Iterable[Source],
    usual: CookHeader,
    speaker: KeptSpeaker,
    bridge: Bridge | None = None,
) -> Site:
    """A site whose calls ``speaker`` keeps."""
    options = SiteOptions(usual=replace(usual, cook="", started=""))
    desk = desk_with(speaker)
    return Site(store, clock, list(sources), options, desk, trust=lambda: True, bridge=bridge)


@cache
def simulated_site() -> Scraped:
    """Two steaks over a fire, scraped as they cook."""

    async def cook(folder: Path) -> Scraped:
        simulated = SimulatedCook(folder)
        try:
            exposed = await simulated.scraped_at(UNTIL_S)
        finally:
            simulated.site.close()
            simulated.store.close()
        return Scraped(exposed, tuple(simulated.speaker.said()))

    with tempfile.TemporaryDirectory() as folder:
        return asyncio.run(cook(Path(folder)))


@cache
def board_with_sites() -> Exposed:
    """A board that heard of a site, and once of nothing it knows."""
    clock = RecordedClock(STARTED)
    board = Board(BrokerOptions("broker.example", 8883), clock)
    here = b'{"state":"here","name":"North grill","version":"1"}'
    for topic, payload in (("pullcall/1/north/presence", here), ("pullcall/1/north/x", b"{}")):
        board.roster.take(topic, payload, False, Stamp("e", 1), board.now())
    return scrape(BoardCollector(board, Streams().counts))
