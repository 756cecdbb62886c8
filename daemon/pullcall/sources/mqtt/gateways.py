"""The links of all declared probes, as people see them. No I/O; ``now`` is monotonic seconds."""

from __future__ import annotations

import logging
from collections.abc import Iterator
from dataclasses import replace

from pullcall.sources.link import Link
from pullcall.sources.mqtt.gathering import MOST_DEVICES
from pullcall.sources.mqtt.options import GatewayProbe, MqttOptions
from pullcall.sources.mqtt.told import Forgotten, Heard, Kept, Told, WayTold
from pullcall.sources.mqtt.topics import PREFIX, TopicFilter, device_of
from pullcall.sources.sink import ChannelReading, LinkState, ProbeStatus

_log = logging.getLogger(__name__)

#: A probe that sends rubbish is logged at its first packet and each time so many more came.
_LOG_EVERY = 100
_LOOKED_FOR = "The broker is being looked for."
_KEPT = "the broker has only an old value of it: nothing has come since"


class _Declared:
    """One declaration and the links of its devices."""

    def __init__(self, probe: GatewayProbe, options: MqttOptions) -> None:
        self.links: dict[str, Link] = {}
        self.trouble = ""
        self._probe = probe
        self._timings = options.timings
        for device in _known_from_the_start(probe, options):
            self._begin(device)
        self._most = MOST_DEVICES + len(self.links)

    def link(self, device: str) -> Link | None:
        """The link of a device; None where there are too many."""
        known = self.links.get(device)
        if known is None and len(self.links) < self._most:
            return self._begin(device)
        return known

    def statuses(self, now: float) -> Iterator[ProbeStatus]:
        """Every channel; where no device is known yet, one line that names none."""
        for device in sorted(self.links):
            yield from self.links[device].statuses(now)
        if not self.links:
            any_one = f"{device_of(self._probe.name)}-+"
            note = f"nothing has come on {self._probe.topic} yet"
            standard = self._probe.standard
            yield ProbeStatus(
                any_one, any_one, self._probe.name, standard, LinkState.SEARCHING, note=note
            )

    def _begin(self, device: str) -> Link:
        quiet = f"nothing new on {self._probe.topic}: check the probe and its gateway"
        link = Link(device, self._probe.standard, self._timings, connects=False, quiet=quiet)
        link.name = device.removeprefix(PREFIX)
        link.note = f"nothing has come on {self._probe.topic} yet"
        self.links[device] = link
        return link


def _known_from_the_start(probe: GatewayProbe, options: MqttOptions) -> list[str]:
    """The one device of a plain topic; of a filter, those that the settings name."""
    own = device_of(probe.name)
    if not TopicFilter(probe.topic).has_devices:
        return [own]
    named = {channel.rpartition("/")[0] for channel in options.named}
    return sorted(device for device in named if device.startswith(f"{own}-"))


class Gateways:
    """Takes what is told, gives readings, and says how every channel is."""

    def __init__(self, options: MqttOptions) -> None:
        self._declared = {probe.name: _Declared(probe, options) for probe in options.probes}
        self._way = _LOOKED_FOR

    def take(self, told: Told, at: float, now: float) -> list[ChannelReading]:
        """Learn from what is told; gives the readings in it, stamped with ``at``."""
        match told:
            case WayTold():
                self._way_is(told, now)
            case Forgotten():
                for declared in self._declared.values():
                    declared.links.pop(told.device, None)
            case Kept():
                if (link := self._link(told)) is not None:
                    link.note = _KEPT
            case Heard():
                if (link := self._link(told)) is not None:
                    return _readings(link, told, at, now)
        return []

    @property
    def is_open(self) -> bool:
        """Whether the way to the broker is."""
        return not self._way

    def way_is_shut(self, sentence: str) -> None:
        """Nothing can come from here on."""
        self._way = sentence

    def statuses(self, now: float) -> tuple[ProbeStatus, ...]:
        """Every channel; what is wrong with the way goes before all other notes."""
        return tuple(
            replace(status, note=self._way or declared.trouble or status.note)
            for declared in self._declared.values()
            for status in declared.statuses(now)
        )

    def _way_is(self, told: WayTold, now: float) -> None:
        if self._way and not told.note:
            for declared in self._declared.values():
                for link in declared.links.values():
                    link.is_listened_for(now)
        if told.note != self._way and told.note != _LOOKED_FOR:
            _log.warning("%s", told.note or "Gateways are listened to.")
        self._way = told.note
        for name, declared in self._declared.items():
            declared.trouble = told.troubles.get(name, "")

    def _link(self, told: Heard | Kept) -> Link | None:
        declared = self._declared.get(told.probe)
        return None if declared is None else declared.link(told.device)


def _readings(link: Link, told: Heard, at: float, now: float) -> list[ChannelReading]:
    if told.battery_percent is not None:
        link.battery_percent = told.battery_percent
    good = {n: link.has_value(n, value, now) for n, value in told.values.items()}
    if told.refused:
        before = link.refused
        link.has_refused(told.reason, told.refused)
        if before == 0 or before // _LOG_EVERY != link.refused // _LOG_EVERY:
            _log.warning("%s: a packet was refused: %s", link.address, told.reason)
    return [
        ChannelReading(link.channel(number), celsius, at)
        for number, celsius in good.items()
        if celsius is not None
    ]
