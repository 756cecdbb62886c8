"""``pullcall serve``: the daemon, left running at the cook site."""

from __future__ import annotations

import argparse
import asyncio
from collections.abc import Coroutine, Iterator
from contextlib import AbstractContextManager, ExitStack, contextmanager, nullcontext
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pullcall import notify
from pullcall.cli.common import add_config, log_path, port, taught_lines, window
from pullcall.clock import RealClock, boot_id
from pullcall.core.phase import Phase
from pullcall.core.setup import window_text
from pullcall.events import Setting
from pullcall.log.live_store import LiveStore
from pullcall.settings import Settings, config_text, load_settings
from pullcall.site.options import SiteOptions
from pullcall.site.standing import standing
from pullcall.sources.sink import Source
from pullcall.supervision import Part

if TYPE_CHECKING:
    from fastapi import FastAPI

    from pullcall.api.cook_site import CookSite
    from pullcall.bus.bridge import Bridge
    from pullcall.core.cook import Cook
    from pullcall.site.live import Site
    from pullcall.sources.bluetooth.options import BluetoothOptions

_RESUMED = (
    "Going on with the cook begun at {since}. It keeps its own settings: change them on the page, "
    "or start a new cook there."
)
_STOP = "Press Ctrl-C to stop; the cook goes on where it was at the next start."


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command to the parser."""
    parser = commands.add_parser("serve", help="run the daemon at the cook site")
    parser.add_argument("--host", metavar="ADDRESS", help="address to serve the page on")
    parser.add_argument("--port", type=port, metavar="PORT", help="port to serve the page on")
    parser.add_argument(
        "--window", type=window, metavar="FROM-TO", help="the turn-in window, such as 14:00-14:30"
    )
    add_config(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Serve until SIGINT or SIGTERM."""
    settings = load_settings(args.config)
    clock, log = RealClock(), log_path(args)
    with LiveStore(log, clock.wall()) as store, ExitStack() as stack:
        with _what_stood(settings, store, clock):
            serving = stack.enter_context(_made(args, settings, store, clock))
        asyncio.run(serving)
    return 0


def _what_stood(
    settings: Settings, store: LiveStore, clock: RealClock
) -> AbstractContextManager[None]:
    """Sounds what sounded when the daemon ended, while all else is loaded and gone through."""
    stood = standing(store, boot_id(), clock.monotonic())
    options = settings.loudspeaker_options()
    if stood is None or not options.enabled:
        return nullcontext()
    from pullcall.outlets.assembly import make_player
    from pullcall.outlets.first_sound import first_sound

    return first_sound(make_player(options), stood.steaks, stood.order)


@contextmanager
def _made(
    args: argparse.Namespace, settings: Settings, store: LiveStore, clock: RealClock
) -> Iterator[Coroutine[Any, Any, None]]:
    """The site with its doors, ready to be run."""
    from pullcall.api.site_metrics import serve_site_metrics
    from pullcall.app import serve
    from pullcall.cli.doors import banner, open_doors, pairings_beside, welcome
    from pullcall.outlets.assembly import make_outlets
    from pullcall.outlets.phones import Phones
    from pullcall.site.live import Site

    page = settings.page.served_at(args.host, args.port)
    log = log_path(args)
    opened = open_doors(page, pairings_beside(log), clock, calls_first=_calls_come_first)
    with opened as doors_of:
        desk = make_outlets(
            settings.loudspeaker_options(), settings.webhook_options(), Phones(clock), clock
        )
        options = _options(settings, banner(page), args.window, config_text(args.config))
        alive = notify.Watchdog(clock).passed
        site = Site(
            store,
            clock,
            _sources(settings, clock),
            options,
            desk,
            on_pass=alive,
            bridge=_bridge(settings, log, clock),
        )

        def metrics(app: FastAPI) -> None:
            serve_site_metrics(app, site, settings.metrics.token)

        doors = doors_of(site, metrics)

        def ready() -> str:
            print(f"Pullcall is ready: open {doors.here}  (log: {store.path})")
            if site.is_resumed:
                print(_RESUMED.format(since=_time_of_day(site.cook.setup.started)))
            print("\n".join((*welcome(doors), *taught_lines(site))))
            print(_STOP, flush=True)
            return f"The page is at {doors.here}, the log is {store.path}."

        keep_to_window = Part("window", lambda: _keep_to_window(site, args.window), has_an_end=True)
        yield serve(site, doors.doors, ready, *doors.others, keep_to_window)


def _calls_come_first(site: CookSite) -> bool:
    """Whether the calls do not wait for the page: somebody cooks, or nobody is there to mend it."""
    return notify.is_managed() or _is_cooking(site.cook)


async def _keep_to_window(site: Site, text: str | None) -> None:
    """A window named at the start counts for a cook that was begun before, too."""
    if text is None:
        return
    wanted = site.window(text)
    if site.cook.setup.window != wanted:
        await site.take(lambda t: Setting(t, None, "window", window_text(wanted)))


def _is_cooking(cook: Cook) -> bool:
    """Whether anything is on the grate, rests, or has an alarm."""
    phases = {steak.phase for steak in cook.steaks.values()}
    return bool(phases & {Phase.ON, Phase.RESTING} or cook.live_alarms())


def _time_of_day(started: str) -> str:
    return datetime.fromisoformat(started).astimezone().strftime("%H:%M")


def _options(
    settings: Settings, banner: str | None, window: str | None, config: str | None
) -> SiteOptions:
    return SiteOptions(
        unit=settings.page.unit,
        banner=banner,
        boot=boot_id(),
        usual=settings.usual_cook(),
        window=window or settings.plan.window,
        config=config,
    )


def _bridge(settings: Settings, log: Path, clock: RealClock) -> Bridge | None:
    """The way to the broker; None where this site is not published."""
    broker, options = settings.mqtt.broker(), settings.mqtt.site_options()
    if broker is None or options is None:
        return None
    from pullcall.bus.bridge import Bridge

    return Bridge(broker, options, log, clock)


def _sources(settings: Settings, clock: RealClock) -> list[Source]:
    sources: list[Source] = []
    if settings.uses_bluetooth():
        from pullcall.sources.bluetooth import BluetoothSource

        sources.append(BluetoothSource(_bluetooth(settings), clock))
    if (gateways := settings.mqtt_options()) is not None:
        from pullcall.sources.mqtt.source import MqttSource

        sources.append(MqttSource(gateways, clock))
    return sources


def _bluetooth(settings: Settings) -> BluetoothOptions:
    """Other cooks' probes are in range too: with our own named, theirs are left alone."""
    options = settings.bluetooth_options()
    return options if options.only else replace(options, only=settings.named_devices())
