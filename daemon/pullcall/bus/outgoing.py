"""All that a site says to its broker, on as many connections as there are last wills."""

from __future__ import annotations

import asyncio

from pullcall.bus.call_feed import CallFeed
from pullcall.bus.homie import Homie
from pullcall.bus.orders import Orders
from pullcall.bus.publication import Json, Leaving
from pullcall.bus.publisher import Publisher
from pullcall.bus.record_feed import RecordFeed
from pullcall.bus.site_voice import SiteVoice
from pullcall.bus.site_wall import SiteWall
from pullcall.bus.status import BusStatus
from pullcall.clock import Clock


class Outgoing:
    """State first, then calls, then records: a long catch-up delays nothing live."""

    def __init__(self, orders: Orders, clock: Clock) -> None:
        site = orders.site.site
        to = f"{orders.broker.host}:{orders.broker.port} {site}"
        self._clock = clock
        self._records = RecordFeed(site, orders.log, to, clock)
        self._voice = SiteVoice(orders.site, orders.version)
        self._wall = SiteWall()
        self._calls = CallFeed(self._voice.calls, clock, lambda: self._wall.at(self._clock.wall()))
        beside = self._calls.publish, self._records.publish
        self._publishers = [
            Publisher(orders.broker, f"pullcall-{site}", self._voice, clock, *beside)
        ]
        self._homie = Homie(orders.site) if orders.site.homie else None
        if self._homie is not None:
            self._publishers.append(
                Publisher(orders.broker, f"pullcall-{site}-homie", self._homie, clock)
            )

    def take(self, message: Json) -> None:
        """Learn from one message of the site."""
        now = self._clock.monotonic()
        self._voice.take(message, now)
        self._wall.learn(message, self._clock.wall())
        if self._homie is not None:
            self._homie.take(message, now)
        mirror = self._voice.mirror
        if mirror.cook is not None and mirror.clock is not None:
            self._records.runs(mirror.cook, mirror.clock)
        self._calls.poke()
        for publisher in self._publishers:
            publisher.poke()

    def status(self) -> BusStatus:
        """How it is now; the state is that of the site's own connection."""
        first = self._publishers[0]
        return BusStatus(
            first.state,
            first.note or self._records.trouble,
            records_waiting=self._records.waiting,
            calls_dropped=self._voice.calls.dropped,
            reconnects=max(0, first.connections - 1),
            published=sum(publisher.published for publisher in self._publishers),
            calls_unconfirmed=self._voice.calls.unconfirmed,
            records_too_large=self._records.too_large,
        )

    async def run(self) -> None:
        """Publish until everyone was left, and then keep the position of the records."""
        async with asyncio.TaskGroup() as tasks:
            keeping = tasks.create_task(self._records.keep(), name="records")
            ways = [tasks.create_task(one.run(), name="publish") for one in self._publishers]
            await asyncio.wait(ways)
            keeping.cancel()
        await self._records.keep_position()

    def leave(self, how: Leaving) -> None:
        """Let :meth:`run` end with a farewell."""
        for publisher in self._publishers:
            publisher.leave(how)
