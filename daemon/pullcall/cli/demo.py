"""``pullcall demo``: a simulated cook of two steaks, faster than life."""

from __future__ import annotations

import argparse
import asyncio
import math
import os
import secrets
from contextlib import AsyncExitStack
from dataclasses import replace
from datetime import datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from pullcall.cli import demo_sites
from pullcall.cli.common import port, speed, taught_lines
from pullcall.clock import AcceleratedClock, RealClock
from pullcall.events import CookHeader
from pullcall.log.aside import check_named
from pullcall.log.live_store import LiveStore
from pullcall.outlets.options import LoudspeakerOptions
from pullcall.report.degrees import span
from pullcall.settings import Settings, load_settings, state_folder
from pullcall.site.options import SiteOptions
from pullcall.supervision import Part

if TYPE_CHECKING:
    from pullcall.cli.doors import Doors
    from pullcall.simulators.on_air import OnAir
    from pullcall.simulators.scenario import Scenario
    from pullcall.simulators.source import SimulatedSource
    from pullcall.site.live import Site
    from pullcall.sources.sink import Source

_SPEED = 6.0
_SCENARIOS = ("demo", "rough", "spots", "backyard")


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command to the parser."""
    parser = commands.add_parser("demo", help="watch a simulated cook, no hardware needed")
    parser.add_argument("--bluetooth", action="store_true", help="through a virtual adapter")
    parser.add_argument("--speed", type=speed, default=_SPEED, metavar="N", help="times life")
    parser.add_argument("--scenario", default="demo", metavar="NAME", help=", ".join(_SCENARIOS))
    parser.add_argument(
        "--seed", type=int, metavar="N", help="which day's cook (default: the next one of the log)"
    )
    parser.add_argument(
        "--sites", type=demo_sites.sites, metavar="N", help="a board of simulated sites instead"
    )
    parser.add_argument("--host", metavar="ADDRESS", help="serve phones too: 0.0.0.0")
    parser.add_argument("--port", type=port, metavar="PORT", help="port of the page")
    parser.add_argument("--log", type=Path, metavar="FILE", help="where the demo's cooks are kept")
    parser.add_argument(
        "--sound", type=Path, metavar="FOLDER", help="write calls here as WAV files, play nothing"
    )
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Cook until stopped."""
    if args.sites is not None:
        return demo_sites.run(args)
    asyncio.run(_run(args))
    return 0


async def _run(args: argparse.Namespace) -> None:
    from pullcall.api.site_metrics import serve_site_metrics
    from pullcall.app import serve
    from pullcall.cli.doors import banner, open_doors, pairings_beside
    from pullcall.outlets.assembly import make_outlets
    from pullcall.outlets.phones import Phones
    from pullcall.simulators.cook_at_site import CookAtSite, obeying
    from pullcall.simulators.scenario import scenario
    from pullcall.simulators.source import SimulatedSource
    from pullcall.site.live import Site

    settings = load_settings(None)
    page = settings.page.served_at(args.host or "127.0.0.1", args.port)
    log = args.log or state_folder() / "demo.db"
    if args.log is not None:
        check_named(log)
    real = RealClock()
    async with AsyncExitStack() as stack:
        doors_of = stack.enter_context(open_doors(page, pairings_beside(log), real))
        store = stack.enter_context(LiveStore(log, real.wall()))
        clock = AcceleratedClock(args.speed, _begins(store, real))
        day = len(store.cooks()) + 1 if args.seed is None else args.seed
        chosen = scenario(args.scenario, day)
        cook = CookAtSite()
        source = SimulatedSource(obeying(chosen), clock, cook.mark, cook.spot)
        header = chosen.header()
        on_air: OnAir | None = None
        sources: list[Source] = [source]
        if args.bluetooth:
            header, on_air = await _go_on_air(stack, source, header, args.speed)
            sources = [_collector(clock)]
        desk = make_outlets(
            _loudspeaker(settings, args.sound), settings.webhook_options(), Phones(real), real
        )
        options = replace(_options(header, args.speed, clock), banner=banner(page))
        site = Site(store, clock, sources, options, desk, trust=_yes)
        cook.works_at(site, source, clock)
        others = [Part("morning", cook.had_a_morning, has_an_end=True)]
        if on_air is not None:
            others.append(Part("virtual probes", on_air.run))
        token = settings.metrics.token
        doors = doors_of(site, lambda app: serve_site_metrics(app, site, token))
        ready = partial(_tell, doors, args, site, chosen)
        await serve(site, doors.doors, ready, *others, *doors.others)


def _begins(store: LiveStore, real: RealClock) -> datetime:
    """Now; or after the last cook of the log, whose fast clock may have run ahead of this one."""
    times = [text for e in store.cooks() for text in (e.header.started, e.ended) if text]
    return max([real.wall(), *map(datetime.fromisoformat, times)])


def _yes() -> bool:
    """A simulated clock is always right."""
    return True


def _loudspeaker(settings: Settings, folder: Path | None) -> LoudspeakerOptions:
    """This machine's loudspeaker, or WAV files in a folder."""
    options = settings.loudspeaker_options()
    return options if folder is None else replace(options, folder=folder)


async def _go_on_air(
    stack: AsyncExitStack, source: SimulatedSource, header: CookHeader, speed: float
) -> tuple[CookHeader, OnAir]:
    """Start the virtual adapter in a process of its own and point this one's Bluetooth at it."""
    from pullcall.simulators.bluetooth.process import adapter_process
    from pullcall.simulators.on_air import OnAir, airing

    aired = airing(header, 0.5 / speed)
    process = await stack.enter_async_context(adapter_process(aired.probes))
    os.environ["DBUS_SYSTEM_BUS_ADDRESS"] = process.bus
    return aired.header, OnAir(source, process.control, aired.places)


def _collector(clock: AcceleratedClock) -> Source:
    from pullcall.sources.bluetooth import BluetoothSource
    from pullcall.sources.bluetooth.options import BluetoothOptions

    return BluetoothSource(BluetoothOptions(), clock)


def _options(header: CookHeader, speed: float, clock: AcceleratedClock) -> SiteOptions:
    from pullcall.simulators.cook_at_site import window_after

    return SiteOptions(
        mode="demo",
        speed=speed,
        boot=f"demo-{secrets.token_hex(4)}",
        usual=replace(header, window=window_after(clock)),
        goes_on=False,
    )


def _tell(doors: Doors, args: argparse.Namespace, site: Site, chosen: Scenario) -> str:
    """What to open and what will happen."""
    from pullcall.cli.doors import welcome

    way = "through Bluetooth code and a virtual adapter" if args.bluetooth else "no hardware"
    print(f"Pullcall demo: a simulated cook, {args.speed:g} times life ({way}).")
    print()
    print(f"    Open  {doors.here}  in a browser and tap the bar to hear calls.")
    print()
    print("\n".join(welcome(doors)))
    _tell_outline(chosen, args.speed)
    print("  The simulated cook taps the marks; tap them yourself and it lets you.")
    print("  Each start of the demo is a new cook, of other steaks over another fire.")
    for line in taught_lines(site):
        print(f"  {line}")
    log = site.archive.log
    print(f"  Afterwards: Menu, Logbook on the page, or pullcall report last --log {log} -o FILE")
    print("  Press Ctrl-C to stop.", flush=True)
    return f"A simulated cook is at {doors.here}."


def _tell_outline(chosen: Scenario, speed: float) -> None:
    """When things will happen, from running the simulated cook ahead once."""
    from pullcall.simulators.kitchen import Kitchen

    kitchen = Kitchen(chosen)
    kitchen.advance(chosen.lasts_s)
    first = min(chosen.steaks, key=lambda scene: kitchen.outcome(scene.steak).cross_s or math.inf)
    found = kitchen.outcome(first.steak)
    if found.cross_s is None or found.pull_s is None:
        return
    name = first.steak
    outline = (
        (first.on_s, "on the grate; turn, flip, turn follow"),
        (found.cross_s - 40.0, f'"{name.capitalize()}: pull in about 40"'),
        (found.pull_s, f"{name} comes off and rests"),
    )
    for cook_s, words in outline:
        print(f"  after {span(cook_s / speed):<11} {words}")
    print()
