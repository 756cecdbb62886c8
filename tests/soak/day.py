"""One day at a site that everything happens to."""

from __future__ import annotations

import asyncio
import json
import os
import shutil
import signal
import sys
from asyncio.subprocess import PIPE
from collections import Counter
from collections.abc import AsyncIterator, Callable, Iterable
from contextlib import AsyncExitStack, ExitStack, asynccontextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from pullcall.child_process import spawn
from pullcall.errors import BrokerError
from pullcall.simulators.open_broker import OpenBroker, open_broker
from tests.integration.daemon import free_port
from tests.soak.faults import Fault, Kind
from tests.soak.samples import Sample, sample
from tests.soak.site import LOG, SoakOptions
from tests.soak.world import (
    Pages,
    Webhooks,
    bus_process,
    full,
    gone,
    locked,
    own_disk,
    stopped,
)

#: Seconds between two looks at memory and files, and between two at whether the cook is over.
_LOOK_S, _OVER_S = 5.0, 3.0
_CHANNELS = ("simulated-1/0", "simulated-2/0", "simulated-3/0")
_STEPS_S = (-3600.0, -5.0, 2.5, 3600.0)


@dataclass(frozen=True, slots=True)
class Plan:
    """A day of ``hours``, ``speed`` times faster than life, kept in ``folder``; ``seed`` chooses
    the first cook's steaks and fire."""

    hours: float
    speed: float
    seed: int
    folder: Path

    @property
    def lasts_s(self) -> float:
        """Real seconds."""
        return self.hours * 3600.0 / self.speed


@dataclass(slots=True)
class Day:
    """What was seen of a day."""

    samples: list[Sample] = field(default_factory=list)
    struck: Counter[Kind] = field(default_factory=Counter)
    not_struck: Counter[Kind] = field(default_factory=Counter)
    cooks: int = 1
    webhooks: int = 0
    messages: int = 0
    exit_code: int | None = None


class Site:
    """The running site of a soak."""

    def __init__(
        self, process: asyncio.subprocess.Process, disk: Path, options: SoakOptions
    ) -> None:
        self.process = process
        self.disk = disk
        self.sound = Path(options.sound)
        self.log = disk / LOG
        self.tasks = 0

    def order(self, do: str, **more: Any) -> None:
        """Send an order."""
        assert self.process.stdin is not None
        self.process.stdin.write(json.dumps({"do": do, **more}).encode() + b"\n")

    async def listen(self, ready: asyncio.Event) -> None:
        """Hear what it tells of itself."""
        assert self.process.stdout is not None
        async for line in self.process.stdout:
            told = json.loads(line)
            self.tasks = told.get("tasks", self.tasks)
            if told.get("ready"):
                ready.set()


async def live_through(plan: Plan, to_come: Iterable[Fault], say: Callable[[str], None]) -> Day:
    """Run the day with these faults. The log and the tape stay in the plan's folder."""
    day, loop = Day(), asyncio.get_running_loop()
    async with AsyncExitStack() as stack:
        disk = plan.folder / "disk"
        disk.mkdir()
        is_own = stack.enter_context(own_disk(disk))
        stack.callback(_keep, disk, plan.folder)
        broker = _broker(stack, plan.folder)
        hooks = Webhooks()
        url = await stack.enter_async_context(hooks.listening())
        port = free_port()
        options = SoakOptions(
            log=str(disk), keep=str(plan.folder), sound=str(plan.folder / "sound"), port=port,
            speed=plan.speed, seed=plan.seed, broker=broker.port if broker else 0, webhook=url,
        )  # fmt: skip
        site = await stack.enter_async_context(_running(options, disk))
        pages = Pages(f"http://127.0.0.1:{port}/api/v1", f"ws://127.0.0.1:{port}/api/v1/stream")
        began = loop.time()
        work = [pages.phone(), pages.beat(), _look(site, day, plan, began, say), _go_on(pages, day)]
        tasks = [asyncio.create_task(one) for one in work]
        striker = Striker(site, pages, hooks, broker, is_own)
        for fault in to_come:
            await asyncio.sleep(max(0.0, began + fault.at_s - loop.time()))
            struck = await striker.strike(fault)
            (day.struck if struck else day.not_struck)[fault.kind] += 1
        await asyncio.sleep(max(0.0, began + plan.lasts_s - loop.time()))
        for task in tasks:
            task.cancel()
        ends = await asyncio.gather(*tasks, return_exceptions=True)
        for end in ends:
            if isinstance(end, Exception):
                raise end
        day.webhooks, day.messages = hooks.taken, pages.heard
        site.process.terminate()
        day.exit_code = await asyncio.wait_for(site.process.wait(), 30)
    return day


class Striker:
    """Makes each fault happen, and mends it."""

    def __init__(
        self, site: Site, pages: Pages, hooks: Webhooks, broker: OpenBroker | None, fills: bool
    ) -> None:
        self._site = site
        self._pages = pages
        self._hooks = hooks
        self._broker = broker
        self._fills = fills

    async def strike(self, fault: Fault) -> bool:
        """Do it and return when it is mended; False where this machine cannot."""
        kind, site = fault.kind, self._site
        channel = _CHANNELS[int(fault.chance * len(_CHANNELS))]
        match kind:
            case Kind.PROBE_SILENT:
                site.order("silence", channel=channel, seconds=fault.lasts_s * 10)
            case Kind.PROBE_SPIKE:
                site.order("spoil", channel=channel)
            case Kind.SOURCE_STOPS:
                site.order("stop")
            case Kind.CLOCK_STEP:
                site.order("step", seconds=_STEPS_S[int(fault.chance * len(_STEPS_S))])
            case Kind.CROWD | Kind.DEAF_PAGES:
                await self._pages.crowd(fault.lasts_s, reads=kind is Kind.CROWD)
            case Kind.NONSENSE:
                await self._pages.nonsense(fault.lasts_s)
            case _:
                return await self._for_a_while(fault)
        return True

    async def _for_a_while(self, fault: Fault) -> bool:
        with ExitStack() as until:
            if not self._begin(fault.kind, until):
                return False
            await asyncio.sleep(fault.lasts_s)
        return True

    def _begin(self, kind: Kind, until: ExitStack) -> bool:
        """Break what is mended when ``until`` closes."""
        bus = bus_process(self._site.process.pid)
        if kind is Kind.DISK_FULL and self._fills:
            until.enter_context(full(self._site.disk))
        elif kind is Kind.LOG_LOCKED:
            until.enter_context(locked(self._site.log))
        elif kind is Kind.SPEAKER_GONE:
            self._lose_speaker(until)
        elif kind in (Kind.WEBHOOK_DOWN, Kind.WEBHOOK_HANGS):
            self._hooks.mood = "down" if kind is Kind.WEBHOOK_DOWN else "hangs"
            until.callback(setattr, self._hooks, "mood", "well")
        elif kind is Kind.BROKER_KILLED and self._broker is not None:
            until.enter_context(gone(self._broker))
        elif kind is Kind.BUS_KILLED and bus is not None:
            os.kill(bus, signal.SIGKILL)
        elif kind is Kind.BUS_STOPPED and bus is not None:
            until.enter_context(stopped(bus))
        elif kind is Kind.NOBODY_HEARS:
            self._pages.is_armed = False
            until.callback(setattr, self._pages, "is_armed", True)
        else:
            return False
        return True

    def _lose_speaker(self, until: ExitStack) -> None:
        """A file where the loudspeaker's folder ought to be."""
        sound = self._site.sound
        while not sound.is_file():
            shutil.rmtree(sound, ignore_errors=True)
            with suppress(IsADirectoryError):  # the loudspeaker made it again meanwhile
                sound.write_text("no folder")
        until.callback(sound.unlink, missing_ok=True)


@asynccontextmanager
async def _running(options: SoakOptions, disk: Path) -> AsyncIterator[Site]:
    with (Path(options.keep) / "site.log").open("wb") as journal:
        process = await spawn(options.command(), stdin=PIPE, stdout=PIPE, stderr=journal.fileno())
    site, ready = Site(process, disk, options), asyncio.Event()
    listening = asyncio.create_task(site.listen(ready))
    try:
        async with asyncio.timeout(30):
            await ready.wait()
        yield site
    finally:
        listening.cancel()
        await asyncio.gather(listening, return_exceptions=True)
        await process.end()


async def _look(site: Site, day: Day, plan: Plan, began: float, say: Callable[[str], None]) -> None:
    loop = asyncio.get_running_loop()
    while True:
        await asyncio.sleep(_LOOK_S)
        at_h = (loop.time() - began) * plan.speed / 3600.0
        if site.process.returncode is not None:
            raise RuntimeError(f"the site ended with {site.process.returncode}: see site.log")
        seen = sample(site.process.pid, at_h, site.tasks)
        day.samples.append(seen)
        say(
            f"{at_h:5.2f} h  {seen.mb:6.1f} MB (+{seen.children_mb:.0f} in children), "
            f"{seen.files} files, {seen.tasks} tasks, cook {day.cooks}"
        )


async def _go_on(pages: Pages, day: Day) -> None:
    """Begin the next cook when one is over."""
    while True:
        await asyncio.sleep(_OVER_S)
        day.cooks += await pages.begin_cook()


def _broker(stack: AsyncExitStack, folder: Path) -> OpenBroker | None:
    try:
        return stack.enter_context(open_broker(folder))
    except BrokerError as exc:
        print(exc, file=sys.stderr)
        return None


def _keep(disk: Path, folder: Path) -> None:
    """Copy the log from the disk that goes."""
    for file in disk.glob(f"{LOG}*"):
        with suppress(OSError):
            shutil.copy2(file, folder / file.name)
