"""``python -m tests.soak.site OPTIONS``: the site of a soak, in a process of its own.

Everything but the probes, the clock's time of day and the loudspeaker is what `pullcall serve`
runs. Orders come in by standard input, one JSON object a line; each second the number of tasks
goes out by standard output.
"""

from __future__ import annotations

import asyncio
import json
import sys
from collections.abc import Callable
from contextlib import AsyncExitStack
from dataclasses import asdict, dataclass, replace
from functools import partial
from pathlib import Path
from typing import Any

from pullcall.app import serve
from pullcall.bus.bridge import Bridge
from pullcall.bus.options import BrokerOptions
from pullcall.bus.options import SiteOptions as Published
from pullcall.cli.doors import open_doors, pairings_beside
from pullcall.clock import RealClock
from pullcall.log.store import Store
from pullcall.outlets.assembly import make_outlets
from pullcall.outlets.options import LoudspeakerOptions, WebhookOptions
from pullcall.outlets.phones import Phones
from pullcall.served_section import PageSection
from pullcall.simulators.cook_at_site import CookAtSite, obeying, window_after
from pullcall.simulators.scenario import scenario
from pullcall.simulators.source import SimulatedSource
from pullcall.site.live import Site
from pullcall.site.options import SiteOptions
from pullcall.supervision import Part
from tests.soak.flaky_source import FlakySource
from tests.soak.stepped_clock import SteppedClock

Order = dict[str, Any]
LOG, TAPE = "cooks.db", "tape.jsonl"


@dataclass(frozen=True, slots=True)
class SoakOptions:
    """``log`` and ``sound`` are folders; ``broker`` is a port of this machine, 0 for none."""

    log: str
    keep: str
    sound: str
    port: int
    speed: float
    seed: int
    broker: int
    webhook: str

    def command(self) -> list[str]:
        """How such a site is started."""
        return [sys.executable, "-m", "tests.soak.site", json.dumps(asdict(self))]


async def run(options: SoakOptions) -> None:
    """Cook until stopped."""
    real, clock = RealClock(), SteppedClock(options.speed)
    log = Path(options.log) / LOG
    page = PageSection().served_at("127.0.0.1", options.port)
    async with AsyncExitStack() as stack:
        doors_of = stack.enter_context(open_doors(page, pairings_beside(log), real))
        store = stack.enter_context(Store(log))
        chosen, cook = scenario("demo", options.seed), CookAtSite()
        kitchen = SimulatedSource(obeying(chosen), clock, cook.mark, cook.spot)
        source = FlakySource(kitchen, clock, Path(options.keep) / TAPE)
        stack.callback(source.close)
        desk = make_outlets(
            LoudspeakerOptions(folder=Path(options.sound)),
            WebhookOptions(options.webhook, "soak"),
            Phones(real),
            real,
        )
        usual = replace(chosen.header(), window=window_after(clock))
        settings = SiteOptions(mode="demo", speed=options.speed, boot="soak", usual=usual)
        bridge = _bridge(options, log, real)
        site = Site(store, clock, [source], settings, desk, trust=lambda: True, bridge=bridge)
        cook.works_at(site, kitchen, clock)
        doors = doors_of(site)
        others = (
            Part("morning", cook.had_a_morning, has_an_end=True),
            Part("orders", partial(_obey, _acts(source, clock)), has_an_end=True),
            Part("tasks", _tell_tasks),
            *doors.others,
        )
        await serve(site, doors.doors, _ready, *others)


def _ready() -> str:
    print('{"ready":true}', flush=True)
    return "A soak is under way."


def _bridge(options: SoakOptions, log: Path, clock: RealClock) -> Bridge | None:
    if not options.broker:
        return None
    broker = BrokerOptions("127.0.0.1", options.broker, tls=False)
    return Bridge(broker, Published("soak", "Soak"), log, clock)


def _acts(source: FlakySource, clock: SteppedClock) -> dict[str, Callable[[Order], None]]:
    return {
        "silence": lambda order: source.silence(order["channel"], order["seconds"]),
        "spoil": lambda order: source.spoil(order["channel"]),
        "stop": lambda _: source.stop(),
        "step": lambda order: clock.step(order["seconds"]),
    }


async def _obey(acts: dict[str, Callable[[Order], None]]) -> None:
    """Do as the lines say that come."""
    lines = asyncio.StreamReader()
    loop = asyncio.get_running_loop()
    await loop.connect_read_pipe(lambda: asyncio.StreamReaderProtocol(lines), sys.stdin)
    while line := await lines.readline():
        order = json.loads(line)
        acts[order["do"]](order)
    await asyncio.Event().wait()


async def _tell_tasks() -> None:
    """Say each second how many tasks there are."""
    while True:
        print(json.dumps({"tasks": len(asyncio.all_tasks())}), flush=True)
        await asyncio.sleep(1.0)


if __name__ == "__main__":
    asyncio.run(run(SoakOptions(**json.loads(sys.argv[1]))))
