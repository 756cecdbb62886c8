"""``pullcall demo``: a simulated cook of two steaks, faster than life."""

from __future__ import annotations

import argparse
import asyncio
import math
import os
import secrets
from contextlib import AsyncExitStack, suppress
from dataclasses import replace
from datetime import datetime, timedelta
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from pullcall.cli import demo_sites
from pullcall.cli.common import port, speed, taught_lines
from pullcall.clock import AcceleratedClock, RealClock
from pullcall.core.setup import window_text
from pullcall.errors import RefusedError, UnknownNameError
from pullcall.events import (
    Call,
    CallKind,
    CookHeader,
    End,
    Input,
    Mark,
    MarkKind,
    Setting,
    Spot,
    Window,
)
from pullcall.log.store import Store
from pullcall.outlets.options import LoudspeakerOptions
from pullcall.settings import Settings, load_settings, state_folder
from pullcall.site.options import SiteOptions

if TYPE_CHECKING:
    from pullcall.cli.doors import Doors
    from pullcall.simulators.on_air import OnAir
    from pullcall.simulators.scenario import Scenario
    from pullcall.simulators.source import SimulatedSource
    from pullcall.site.live import Site
    from pullcall.sources.sink import Source

_SPEED = 6.0
_SCENARIOS = ("demo", "rough", "spots", "backyard")
#: Virtual probes for ``--bluetooth``, of two different standards, by the scenario's steak.
_ADDRESSES = ("02:00:00:00:01:01", "02:00:00:00:01:02")


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
    from pullcall.simulators.scenario import scenario
    from pullcall.simulators.source import SimulatedSource
    from pullcall.site.live import Site

    settings = load_settings(None)
    page = settings.page.served_at(args.host or "127.0.0.1", args.port)
    log = args.log or state_folder() / "demo.db"
    real = RealClock()
    async with AsyncExitStack() as stack:
        doors_of = stack.enter_context(open_doors(page, pairings_beside(log), real))
        store = stack.enter_context(Store(log))
        clock = AcceleratedClock(args.speed, _begins(store, real))
        day = len(store.cooks()) + 1 if args.seed is None else args.seed
        chosen = scenario(args.scenario, day)
        cook = _SimulatedCook()
        source = SimulatedSource(_obeying(chosen), clock, cook.mark, cook.spot)
        header = chosen.header()
        on_air: OnAir | None = None
        sources: list[Source] = [source]
        if args.bluetooth:
            header, on_air = await _go_on_air(stack, source, header, args.speed)
            sources = [_collector(clock)]
        _close_earlier(store, clock)
        desk = make_outlets(
            _loudspeaker(settings, args.sound), settings.webhook_options(), Phones(real), real
        )
        options = replace(_options(header, args.speed, clock), banner=banner(page))
        site = Site(store, clock, sources, options, desk, trust=_yes)
        cook.works_at(site, source, clock)
        others = [cook.had_a_morning(), *([on_air.run()] if on_air else [])]
        token = settings.metrics.token
        doors = doors_of(site, lambda app: serve_site_metrics(app, site, token))
        others = [*others, *doors.others]
        await serve(site, doors.doors, lambda: _tell(doors, args, site, chosen), *others)


def _begins(store: Store, real: RealClock) -> datetime:
    """Now; or after the last cook of the log, whose fast clock may have run ahead of this one."""
    times = [text for e in store.cooks() for text in (e.header.started, e.ended) if text]
    return max([real.wall(), *map(datetime.fromisoformat, times)])


def _close_earlier(store: Store, clock: AcceleratedClock) -> None:
    """Every demo is a cook of its own: one that was stopped is not gone on with."""
    for entry in store.cooks():
        if entry.ended is None:
            store.end(entry.id, clock.wall().isoformat(timespec="seconds"))


class _SimulatedCook:
    """Hands what the simulated cook does to the site, and what people tap to the kitchen."""

    def __init__(self) -> None:
        self._site: Site | None = None
        self._new_day: asyncio.Task[None] | None = None

    def works_at(self, site: Site, source: SimulatedSource, clock: AcceleratedClock) -> None:
        """Begin to work there."""
        from pullcall.simulators.scenario import scenario

        def hear(event: Input) -> None:
            if isinstance(event, Mark):
                source.hear(event)
            elif isinstance(event, End):
                day = source.scenario
                source.begin_again(_obeying(scenario(day.name, day.seed + 1)))
                self._new_day = asyncio.create_task(
                    self._prepare(source.scenario, clock), name="new day"
                )

        def obey(call: Call) -> None:
            if call.call is CallKind.PULL_NOW:
                for steak in call.steaks:
                    with suppress(UnknownNameError):  # a cook with other steaks began
                        source.told_to_pull(steak)

        self._site = site
        site.hear(hear)
        site.hear_calls(obey)

    async def _prepare(self, day: Scenario, clock: AcceleratedClock) -> None:
        """Measure the steaks of another cook, learn its window and mark its morning."""
        assert self._site is not None
        window = window_text(_window(clock))
        await self._site.take(lambda t: Setting(t, None, "window", window))
        for steak in (scene.settings() for scene in day.steaks):
            for name, value in (("thickness_mm", steak.thickness_mm), ("start_c", steak.start_c)):
                with suppress(RefusedError):  # a cook with other steaks began
                    await self._site.take(partial(_measured, steak.steak, name, value))
        await self.had_a_morning()

    async def mark(self, kind: MarkKind, steak: str | None) -> None:
        """Tell the site what was done."""
        assert self._site is not None
        id = secrets.token_hex(4)
        await self._site.take(lambda t: Mark(t, steak, kind, id))

    async def had_a_morning(self) -> None:
        """Mark what was done before the demo begins."""
        from pullcall.simulators.day import MORNING

        assert self._site is not None
        for kind, ago_s in MORNING:
            make = partial(_earlier, kind, secrets.token_hex(4), ago_s)
            await self._site.take(make)

    async def spot(self, steak: str, celsius: float) -> None:
        """Tell the site what the hand-held thermometer showed."""
        assert self._site is not None
        id = secrets.token_hex(4)
        await self._site.take(lambda t: Spot(t, steak, round(celsius, 2), id))


def _measured(steak: str, name: str, value: float, t: float) -> Setting:
    return Setting(t, steak, name, value)


def _obeying(chosen: Scenario) -> Scenario:
    """The same cook, who takes a steak off when "pull now" is called instead of by the core."""
    from pullcall.simulators.scenario import Pulls

    return replace(chosen, habits=replace(chosen.habits, pulls=Pulls.WHEN_TOLD))


def _earlier(kind: MarkKind, id: str, ago_s: float, t: float) -> Mark:
    return Mark(t, None, kind, id, round(t - ago_s, 3))


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
    from pullcall.simulators.bluetooth.probes import Probe, Standard
    from pullcall.simulators.bluetooth.process import adapter_process
    from pullcall.simulators.on_air import OnAir

    standards = (Standard.HEALTH_THERMOMETER, Standard.COOKWARE)
    pairs = list(zip(header.steaks, _ADDRESSES, standards, strict=False))
    probes = [
        Probe(address, f"{steak.steak} steak", standard, interval_s=0.5 / speed, start_c=None)
        for steak, address, standard in pairs
    ]
    process = await stack.enter_async_context(adapter_process(probes))
    os.environ["DBUS_SYSTEM_BUS_ADDRESS"] = process.bus
    places = {steak.channel or "": (address, "1") for steak, address, _ in pairs}
    steaks = tuple(replace(steak, channel=f"{address}/1") for steak, address, _ in pairs)
    return replace(header, steaks=steaks), OnAir(source, process.control, places)


def _collector(clock: AcceleratedClock) -> Source:
    from pullcall.sources.bluetooth import BluetoothSource
    from pullcall.sources.bluetooth.options import BluetoothOptions

    return BluetoothSource(BluetoothOptions(), clock)


def _options(header: CookHeader, speed: float, clock: AcceleratedClock) -> SiteOptions:
    return SiteOptions(
        mode="demo",
        speed=speed,
        boot=f"demo-{secrets.token_hex(4)}",
        usual=replace(header, window=_window(clock)),
    )


def _window(clock: AcceleratedClock) -> Window:
    """The demo's turn-in window lies so that the cook makes it."""
    from pullcall.simulators.day import WINDOW_S

    opens, closes = (clock.wall() + timedelta(seconds=s) for s in WINDOW_S)
    return Window(opens.isoformat(timespec="seconds"), closes.isoformat(timespec="seconds"))


def _tell(doors: Doors, args: argparse.Namespace, site: Site, chosen: Scenario) -> None:
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
        print(f"  after {cook_s / 60 / speed:.1f} min  {words}")
    print()
