"""``python -m pullcall.simulators.sites``: many simulated sites that publish at a broker.

Each plays a cook that was worked out once, over and over, on a connection of its own and through
the very code by which a site publishes. They begin at different moments of it, so that at any
time some wait, some cook and some rest. They have no log, so no records, and nobody hears them.
"""

from __future__ import annotations

import argparse
import asyncio
import multiprocessing
import os
import signal
import sys
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from importlib.metadata import version
from typing import Any

from pullcall.bus.call_feed import CallFeed
from pullcall.bus.options import BrokerOptions, SiteOptions
from pullcall.bus.publication import Leaving
from pullcall.bus.publisher import Publisher
from pullcall.bus.site_voice import SiteVoice
from pullcall.clock import Clock, RealClock
from pullcall.simulators.played_site import Played, PlayedSite
from pullcall.simulators.scenario import Scenario, scenario
from pullcall.simulators.tape import Tape, tape_of

Json = dict[str, Any]
#: How long the steaks of each cook wait before they go on, seconds.
_WAITS_S = 240.0
#: Probes speak this often, seconds.
_INTERVAL_S = 1.0
#: Where a site begins, as a share of its cook: the golden ratio spreads any number evenly.
_SPREAD = 0.6180339887
#: Whose child this is, is looked at so often, seconds.
_BEAT_S = 1.0
_GOODBYE_S = 2.0
_FIRST = (
    "Creek", "Orchard", "Mill", "Quarry", "Harbour", "Chapel", "Meadow", "Bridge",
    "Juniper", "Lantern", "Granary", "Ferry", "Thistle", "Heron", "Cinder", "Maple",
)  # fmt: skip
_SECOND = (
    "Yard", "Corner", "Bank", "Row", "Field", "Gate", "Hill", "Landing",
    "Green", "Shed", "Point", "Lane", "Bend", "Rise", "Hollow", "End",
)  # fmt: skip


#: Whoever started this process, read at once: it may be gone when the cooks are worked out.
_OWNER = os.getppid()
#: Children have what was worked out already.
_FORK = multiprocessing.get_context("fork")
#: Alters what a site says before it is published.
Change = Callable[[Json], Json]


def as_it_is(message: Json) -> Json:
    """The same message."""
    return message


def site_options(number: int) -> SiteOptions:
    """The invented name of a site, the same for the same number (from 0)."""
    lap, place = divmod(number, len(_FIRST) * len(_SECOND))
    second, first = divmod(place, len(_FIRST))
    words = [_FIRST[first], _SECOND[(first + second) % len(_SECOND)]]
    name = " ".join([*words, *([f"{lap + 1}"] if lap else [])])
    return SiteOptions(name.lower().replace(" ", "-"), name, homie=False)


def tapes(cooks: int) -> list[Tape]:
    """Different cooks of two steaks, worked out: some six seconds each, as many at once as the
    machine has processors."""
    at_once = min(cooks, os.cpu_count() or 1)
    with ProcessPoolExecutor(at_once, mp_context=_FORK) as pool:
        return list(pool.map(_tape_of_day, range(1, cooks + 1)))


def _tape_of_day(day: int) -> Tape:
    return tape_of(_at_a_second(scenario("demo", day)), _WAITS_S)


def played(number: int, cooks: Sequence[Tape], speed: float) -> Played:
    """What a site plays (``number`` from 0), and where in it it begins."""
    tape = cooks[number % len(cooks)]
    return Played(site_options(number), tape, number * _SPREAD % 1.0 * tape.ends_t, speed)


class SimulatedSite:
    """One site with its connection. ``change`` may alter what it says before it is published."""

    def __init__(
        self, broker: BrokerOptions, played: Played, clock: Clock, change: Change = as_it_is
    ) -> None:
        self.voice = SiteVoice(played.site, version("pullcall"))
        name = f"pullcall-{played.site.site}"
        self._calls = CallFeed(self.voice.calls, clock, clock.wall)
        self.publisher = Publisher(broker, name, self.voice, clock, self._calls.publish)
        self._clock = clock
        self._change = change
        self._playing = PlayedSite(played, clock, self._hear)

    async def run(self) -> None:
        """Play and publish until told to leave."""
        playing = asyncio.create_task(self._playing.run(), name="play")
        try:
            await self.publisher.run()
        finally:
            playing.cancel()

    def _hear(self, message: Json) -> None:
        self.voice.take(self._change(message), self._clock.monotonic())
        self._calls.poke()
        self.publisher.poke()


async def run_sites(sites: Sequence[SimulatedSite], leave: asyncio.Future[Leaving]) -> None:
    """Run them until ``leave`` says how they go."""
    async with asyncio.TaskGroup() as tasks:
        running = [tasks.create_task(site.run()) for site in sites]
        how = await leave
        for site in sites:
            site.publisher.leave(how)
        _, late = await asyncio.wait(running, timeout=_GOODBYE_S)
        for task in late:
            task.cancel()


def _at_a_second(scenario: Scenario) -> Scenario:
    scenes = tuple(
        replace(scene, probe=replace(scene.probe, interval_s=_INTERVAL_S) if scene.probe else None)
        for scene in scenario.steaks
    )
    return replace(scenario, steaks=scenes)


async def _share(broker: BrokerOptions, all: Sequence[Played], change: Change, parent: int) -> None:
    """The sites of one process, until it is told to stop or its parent is gone."""
    clock, loop = RealClock(), asyncio.get_running_loop()
    leave: asyncio.Future[Leaving] = loop.create_future()

    def stop() -> None:
        if not leave.done():
            leave.set_result("gone")

    for number in (signal.SIGINT, signal.SIGTERM):
        loop.add_signal_handler(number, stop)

    async def look() -> None:
        """A parent that was killed cannot tell its children to stop."""
        while True:
            await asyncio.sleep(_BEAT_S)
            if os.getppid() != parent:
                stop()

    looking = asyncio.create_task(look(), name="parent")
    await run_sites([SimulatedSite(broker, one, clock, change) for one in all], leave)
    looking.cancel()


def _run_share(broker: BrokerOptions, all: Sequence[Played], change: Change, parent: int) -> None:
    asyncio.run(_share(broker, all, change, parent))


def publish(
    broker: BrokerOptions, all: Sequence[Played], processes: int = 1, change: Change = as_it_is
) -> None:
    """Run sites until told to stop, some here and the others in children of this process."""
    first, *others = (all[k::processes] for k in range(processes))
    children = [
        _FORK.Process(target=_run_share, args=(broker, share, change, os.getpid()))
        for share in others
    ]
    for child in children:
        child.start()
    _run_share(broker, first, change, _OWNER)
    for child in children:
        child.terminate()
        child.join()


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command line."""
    parser = argparse.ArgumentParser(
        prog="python -m pullcall.simulators.sites",
        description="Publish many simulated sites at an MQTT broker that lets anybody in.",
    )
    parser.add_argument("--sites", type=int, default=12, metavar="N", help="how many")
    parser.add_argument("--speed", type=float, default=1.0, metavar="N", help="times life")
    parser.add_argument("--broker", default="localhost:1883", metavar="HOST:PORT")
    parser.add_argument("--cooks", type=int, default=3, metavar="N", help="different cooks")
    parser.add_argument("--processes", type=int, default=1, metavar="N", help="to share the work")
    asked = parser.parse_args(argv)
    host, _, port = asked.broker.rpartition(":")
    if not host or not port.isdecimal():
        parser.error("--broker takes HOST:PORT, such as localhost:1883")
    broker = BrokerOptions(host, int(port), tls=False)
    count = min(asked.cooks, asked.sites)
    print(f"Working out what {count} simulated cooks do: some seconds.", flush=True)
    cooks = tapes(count)
    all = [played(number, cooks, asked.speed) for number in range(asked.sites)]
    print(f"{asked.sites} simulated sites publish at {asked.broker}.", flush=True)
    publish(broker, all, max(1, asked.processes))
    return 0


if __name__ == "__main__":
    sys.exit(main())
