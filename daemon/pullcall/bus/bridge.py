"""Hands a site's messages to the process that publishes them; nothing a broker does gets past it.

Nothing of MQTT is imported here.
"""

from __future__ import annotations

import asyncio
import contextlib
import logging
import sys
from asyncio.subprocess import Process
from collections.abc import Sequence
from dataclasses import replace
from importlib.metadata import version
from pathlib import Path
from typing import Any, Protocol

from pullcall.bus.child import start, write_line
from pullcall.bus.options import BrokerOptions, SiteOptions
from pullcall.bus.orders import BYE, Orders
from pullcall.bus.patience import Patience
from pullcall.bus.status import BusState, BusStatus, parse_status
from pullcall.clock import Clock
from pullcall.first_of import first_of
from pullcall.log.records import to_line
from pullcall.mistakes import Mistakes
from pullcall.seen_through import seen_through
from pullcall.site.hub import Audience

_log = logging.getLogger(__name__)

COMMAND = (sys.executable, "-m", "pullcall.bus")
#: A process that takes nothing for this long is ended and started again, seconds.
_STALLED_S = 30.0
#: How long a goodbye may take, seconds; then the process is ended.
_GOODBYE_S = 3.0
#: The waits before it is started again, and what was a life, seconds.
_FIRST_WAIT_S, _LONGEST_WAIT_S, _LIVED_S = 1.0, 30.0, 60.0
#: What went wrong is told again once it has been well for this long, seconds.
_WELL_S = 60.0


class Publishing(Protocol):
    """A site that can be published."""

    @property
    def hub(self) -> Audience:
        """Where its messages come from."""

    def snapshot(self) -> dict[str, Any]:
        """Everything as it is now."""


class Bridge:
    """One process at a time, fed like a page from the hub.

    The way to it is bounded: while it takes nothing, the hub's listener fills, is let go, and the
    process starts from a snapshot again, or anew where it stays stuck.
    """

    def __init__(
        self,
        broker: BrokerOptions,
        options: SiteOptions,
        log: Path,
        clock: Clock,
        command: Sequence[str] = COMMAND,
    ) -> None:
        self._orders = Orders(broker, options, log.absolute(), version("pullcall"))
        self._clock = clock
        self._command = command
        self._status = BusStatus()
        self._before = BusStatus()  # the counts of the processes before this one
        self._told: set[str] = set()
        self._mistakes = Mistakes(_log, "The way to the broker has a mistake in it.")
        self._well_since: float | None = None

    def status(self) -> BusStatus:
        """How the way to the broker is."""
        return self._status

    async def run(self, site: Publishing) -> None:
        """Publish until cancelled; returns only when the process has said goodbye or is ended."""
        stop = asyncio.Event()
        await seen_through(self._live(site, stop), stop.set)

    async def _live(self, site: Publishing, stop: asyncio.Event) -> None:
        patience = Patience(_FIRST_WAIT_S, _LONGEST_WAIT_S, _LIVED_S)
        while not stop.is_set():
            began = self._clock.monotonic()
            fault = await self._supervised(site, stop)
            if stop.is_set():
                return
            ended = self._clock.monotonic()
            self._fail(f"The process that publishes {fault}: it is started again.")
            wait = self._clock.sleep_until(ended + patience.next(ended - began))
            await first_of(stop.wait(), wait)

    async def _supervised(self, site: Publishing, stop: asyncio.Event) -> str:
        """As below; a mistake made here or in the site's snapshot is a fault like any other."""
        try:
            return await self._one_process(site, stop)
        except Exception as exc:
            return self._mistakes.fault(exc)

    async def _one_process(self, site: Publishing, stop: asyncio.Event) -> str:
        """Start it and feed it until it ends, is stuck, or is to stop; gives what was wrong."""
        try:
            process = await start(self._command)
        except OSError as exc:
            return f"could not be started ({exc.strerror})"
        try:
            return await self._talk(process, site, stop)
        finally:
            await process.end()
            self._before = replace(self._status, restarts=self._status.restarts + 1)

    async def _talk(self, process: Process, site: Publishing, stop: asyncio.Event) -> str:
        acts = self._feed(process, site), self._hear(process), stop.wait()
        fault = await first_of(*acts)
        if stop.is_set():
            await _say_goodbye(process)
        return fault if isinstance(fault, str) else f"ended ({process.returncode})"

    async def _feed(self, process: Process, site: Publishing) -> str:
        """Hand everything on, for ever; gives why that is not possible."""
        try:
            await write_line(process, self._orders.line(), _STALLED_S)
            while True:
                await self._feed_from_snapshot(process, site)
        except TimeoutError:
            return f"took nothing for {_STALLED_S:.0f} s"
        except OSError:
            return "went away"

    async def _feed_from_snapshot(self, process: Process, site: Publishing) -> None:
        """A snapshot and all that follows, until this listener falls behind or is let go."""
        listener = site.hub.join()
        try:
            snapshot = to_line({"type": "snapshot", **site.snapshot()})
            await write_line(process, snapshot, _STALLED_S)
            while (line := await listener.queue.get()) is not None:
                await write_line(process, line, _STALLED_S)
        finally:
            site.hub.leave(listener)

    async def _hear(self, process: Process) -> None:
        """Take the status lines until it ends; whatever else comes says nothing."""
        assert process.stdout is not None
        while line := await process.stdout.readline():
            with contextlib.suppress(ValueError):
                self._take(parse_status(line))
        await process.wait()

    def _take(self, told: BusStatus) -> None:
        before = self._before
        self._status = replace(
            told,
            calls_dropped=before.calls_dropped + told.calls_dropped,
            reconnects=before.reconnects + told.reconnects,
            published=before.published + told.published,
            restarts=before.restarts,
            calls_unconfirmed=before.calls_unconfirmed + told.calls_unconfirmed,
            records_too_large=before.records_too_large + told.records_too_large,
        )
        if told.state is BusState.OK:
            self._be_well()
        elif told.state is BusState.FAILING:
            self._tell(told.note)

    def _fail(self, sentence: str) -> None:
        self._status = replace(self._before, state=BusState.FAILING, note=sentence)
        self._tell(sentence)

    def _be_well(self) -> None:
        if self._well_since is None:
            self._well_since = self._clock.monotonic()
            if self._told:
                _log.info("The site is published again.")

    def _tell(self, sentence: str) -> None:
        """Each failure once in the journal, until it has been well for a while."""
        since, self._well_since = self._well_since, None
        if since is not None and self._clock.monotonic() - since >= _WELL_S:
            self._told.clear()
        if sentence not in self._told:
            self._told.add(sentence)
            _log.warning("%s", sentence)


async def _say_goodbye(process: Process) -> None:
    """Let it end by itself, if it does so soon."""
    assert process.stdin is not None
    with contextlib.suppress(OSError):
        process.stdin.write(BYE.encode() + b"\n")
        process.stdin.close()
    with contextlib.suppress(TimeoutError):
        async with asyncio.timeout(_GOODBYE_S):
            await process.wait()
