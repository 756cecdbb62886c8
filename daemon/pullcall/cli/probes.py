"""``pullcall probes``: what is heard, live, and how to assign it to a steak."""

from __future__ import annotations

import argparse
import asyncio
import contextlib
import logging
import sys
from collections.abc import Mapping, Sequence
from pathlib import Path

from pullcall.cli.table import table
from pullcall.clock import Clock, RealClock
from pullcall.degrees import celsius_to_fahrenheit
from pullcall.printable import printable
from pullcall.settings import Settings, load_settings
from pullcall.sources.bluetooth import BluetoothSource
from pullcall.sources.mqtt.source import MqttSource
from pullcall.sources.mqtt.topics import is_over_mqtt
from pullcall.sources.sink import (
    AdapterState,
    AdapterStatus,
    ChannelReading,
    LinkState,
    ProbeStatus,
    Sink,
    Source,
)

_COLUMNS = "channel name standard temperature battery signal age state steak note".upper().split()
_CLEAR = "\x1b[H\x1b[2J"
#: Where the output is no terminal, a channel is told of when its state changes, and this often.
_REPEAT_S = 5.0


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command to the parser."""
    parser = commands.add_parser(
        "probes",
        help="list the probes heard over Bluetooth and MQTT, live",
        description="List the probes heard over Bluetooth and MQTT, live, until Ctrl-C.",
    )
    parser.add_argument("--config", type=Path, metavar="FILE", help="pullcall.toml to use")
    parser.add_argument(
        "--once", type=_seconds, metavar="SECONDS", help="listen so long, then list once and end"
    )
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """List until Ctrl-C, or once; 0 if any probe was heard, else 1."""
    settings = load_settings(args.config)
    assigned = {steak.probe: steak.name for steak in settings.steaks if steak.probe}
    clock = RealClock()
    sources = _sources(settings, clock)
    # The list itself shows what the log would say, and lines between would tear it.
    for name in ("pullcall.sources", "bleak"):
        logging.getLogger(name).setLevel(logging.CRITICAL)
    with contextlib.suppress(KeyboardInterrupt):
        asyncio.run(_list(sources, assigned, clock, args.once))
    print("\n".join(["", *closing(sources.probes(), sources.adapter(), assigned)]))
    return 0 if any(map(was_heard, sources.probes())) else 1


def _sources(settings: Settings, clock: Clock) -> Together:
    """Bluetooth, unless only gateways are wanted, and the probes that gateways pass on."""
    mqtt = settings.mqtt_options()
    found: list[Source] = []
    if settings.bluetooth.enabled or mqtt is None:
        found.append(BluetoothSource(settings.bluetooth_options(), clock))
    if mqtt is not None:
        found.append(MqttSource(mqtt, clock))
    return Together(found)


class Together:
    """Several sources as one."""

    def __init__(self, sources: Sequence[Source]) -> None:
        self._sources = sources
        self.has_bluetooth = any(isinstance(one, BluetoothSource) for one in sources)

    async def run(self, sink: Sink) -> None:
        """Run all of them until cancelled."""
        await asyncio.gather(*(source.run(sink) for source in self._sources))

    def probes(self) -> tuple[ProbeStatus, ...]:
        """What every one heard."""
        return tuple(probe for source in self._sources for probe in source.probes())

    def adapter(self) -> AdapterStatus | None:
        """The adapter of the one that has one."""
        return next((a for a in (s.adapter() for s in self._sources) if a is not None), None)

    def head(self) -> list[str]:
        """What stands above the probes."""
        return [adapter_line(self.adapter())] if self.has_bluetooth else []


class _NoSink:
    def reading(self, reading: ChannelReading) -> None:
        """Take no notice: the list shows states, which hold the last value."""


async def _list(
    source: Together, assigned: Mapping[str, str], clock: Clock, once_s: float | None
) -> None:
    collecting = asyncio.create_task(source.run(_NoSink()))
    try:
        if once_s is not None:
            await clock.sleep_until(clock.monotonic() + once_s)
            print("\n".join(screen(source.probes(), source.head(), assigned)))
        elif sys.stdout.isatty():
            await _redraw(source, assigned, clock)
        else:
            await _follow(source, assigned, clock)
    finally:
        collecting.cancel()
        await asyncio.wait({collecting})


async def _redraw(source: Together, assigned: Mapping[str, str], clock: Clock) -> None:
    while True:
        lines = screen(source.probes(), source.head(), assigned)
        lines += ["", *closing(source.probes(), source.adapter(), assigned), "Ctrl-C ends this."]
        print(_CLEAR + "\n".join(lines), flush=True)
        await clock.sleep_until(clock.monotonic() + 1.0)


async def _follow(source: Together, assigned: Mapping[str, str], clock: Clock) -> None:
    told: dict[str, tuple[object, float]] = {}
    while True:
        now = clock.monotonic()
        subjects: dict[str, tuple[object, str]] = {}
        if (status := source.adapter()) is not None:
            subjects[""] = (status, adapter_line(status))
        for probe in source.probes():
            line = "  ".join(cell for cell in row(probe, assigned) if cell)
            subjects[probe.channel] = (probe.state, line)
        for name, (state, line) in subjects.items():
            before = told.get(name)
            if before is None or before[0] != state or now - before[1] >= _REPEAT_S:
                told[name] = (state, now)
                print(printable(line), flush=True)
        await clock.sleep_until(now + 1.0)


def screen(
    probes: Sequence[ProbeStatus], head: Sequence[str], assigned: Mapping[str, str]
) -> list[str]:
    """The head and a table of channels, as lines."""
    lines = [*head, ""]
    if not probes:
        return [*lines, "No probe heard yet: switch one on and bring it close."]
    return lines + table([tuple(_COLUMNS), *(row(probe, assigned) for probe in probes)])


def adapter_line(adapter: AdapterStatus | None) -> str:
    """The adapter's state, and what to do about it."""
    if adapter is None:
        return "Bluetooth: looking for the adapter"
    note = f". {adapter.note}" if adapter.note else ""
    name = "" if adapter.name == "bluetooth" else f" {adapter.name}"
    return f"Bluetooth{name}: {adapter.state}{note}"


def row(probe: ProbeStatus, assigned: Mapping[str, str]) -> tuple[str, ...]:
    """One channel as the cells of the table."""
    tries = f" ({probe.attempts})" if probe.attempts else ""
    refused = f"{probe.refused} packets refused" if probe.refused else ""
    return (
        probe.channel,
        probe.name or "-",
        probe.standard,
        _degrees(probe.celsius),
        "-" if probe.battery_percent is None else f"{probe.battery_percent} %",
        "-" if probe.rssi_dbm is None else f"{probe.rssi_dbm} dBm",
        "-" if probe.age_s is None else f"{probe.age_s:.0f} s",
        f"{probe.state}{tries}",
        assigned.get(probe.channel, "-"),
        "; ".join(part for part in (probe.note, refused) if part),
    )


def was_heard(probe: ProbeStatus) -> bool:
    """Whether it was; a probe of a gateway is listed before."""
    return not is_over_mqtt(probe.channel) or probe.state is not LinkState.SEARCHING


def closing(
    probes: Sequence[ProbeStatus], adapter: AdapterStatus | None, assigned: Mapping[str, str]
) -> list[str]:
    """How to assign a channel; or what to do where none was heard."""
    heard = [probe.channel for probe in probes if was_heard(probe)]
    free = [channel for channel in heard if channel not in assigned]
    if not heard:
        troubled = adapter is not None and adapter.state is not AdapterState.OK
        return [] if troubled else ["No probe was heard; switch one on."]
    if not free:
        return ["Every channel heard is assigned to a steak."]
    return [
        "To assign a channel to a steak, write into pullcall.toml:",
        "",
        "    [[steak]]",
        '    name = "left"',
        printable(f'    probe = "{free[0]}"'),
        "",
        "or choose it on the page: Menu, then Probes.",
    ]


def _degrees(celsius: float | None) -> str:
    if celsius is None:
        return "-"
    return f"{celsius_to_fahrenheit(celsius):.1f} F / {celsius:.1f} C"


def _seconds(text: str) -> float:
    try:
        seconds = float(text)
    except ValueError:
        seconds = 0.0
    if not 0.0 < seconds <= 3600.0:
        raise argparse.ArgumentTypeError(f"{text!r} must be seconds between 0 and 3600")
    return seconds
