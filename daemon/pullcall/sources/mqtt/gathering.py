"""Keeps the latest value of each device until it is told, and floods out. No I/O.

Every ``now`` is monotonic seconds.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from pullcall.sources.mqtt.options import GatewayProbe
from pullcall.sources.mqtt.packet import Packet, PacketReader
from pullcall.sources.mqtt.told import Forgotten, Heard, Kept, Told, fitting
from pullcall.sources.mqtt.topics import TopicFilter, device_of

#: Devices of one declaration, besides those that the settings name.
MOST_DEVICES = 64
#: Messages of one device that are read, each second and at once.
MOST_EACH_SECOND = 10
_AT_ONCE = 20
#: A device that was silent for this long makes way for another, seconds.
_SILENT_S = 120.0
_LONGEST_REASON = 160
_TOO_MANY = f"it sends more than {MOST_EACH_SECOND} messages a second"


@dataclass(slots=True)
class _Device:
    """A device, and how many messages of it may still be read (a token bucket)."""

    name: str
    heard_at: float
    left: float = _AT_ONCE
    is_live: bool = False

    def may_be_read(self, now: float) -> bool:
        """Whether one more message is within the bounds; it counts."""
        since = max(0.0, now - self.heard_at)
        self.left = min(_AT_ONCE, self.left + MOST_EACH_SECOND * since)
        self.heard_at = now
        if self.left < 1.0:
            return False
        self.left -= 1.0
        return True

    def has_fallen_silent(self, now: float) -> bool:
        """Whether it may make way; one that was never heard itself does so at once."""
        return not self.is_live or now - self.heard_at >= _SILENT_S


class _Branch:
    """One declaration and its devices."""

    def __init__(self, probe: GatewayProbe, named: Iterable[str]) -> None:
        self.probe = probe
        self.filter = TopicFilter(probe.topic)
        self.reader = PacketReader(probe)
        self.left_out_at: float | None = None
        self._named = frozenset(named)
        self._devices: dict[tuple[str, ...], _Device] = {}

    def device(self, levels: tuple[str, ...], now: float) -> _Device | None:
        """The device of these levels; None where there is no place for it."""
        known = self._devices.get(levels)
        if known is not None:
            return known
        name = device_of(self.probe.name, levels)
        if len(self._devices) >= MOST_DEVICES and name not in self._named:
            self.left_out_at = now
            return None
        self._devices[levels] = device = _Device(name, now)
        return device

    def make_way(self, now: float) -> str | None:
        """Forget one that is silent where every place is taken; gives its name."""
        if len(self._devices) < MOST_DEVICES:
            return None
        silent = [
            (device.is_live, device.heard_at, levels)
            for levels, device in self._devices.items()
            if device.name not in self._named and device.has_fallen_silent(now)
        ]
        return self._devices.pop(min(silent)[-1]).name if silent else None

    def has_left_out(self, now: float) -> bool:
        """Whether there was no place for a device, not long ago."""
        return self.left_out_at is not None and now - self.left_out_at < _SILENT_S

    def knows(self, levels: tuple[str, ...]) -> bool:
        """Whether a device of these levels has its place."""
        return levels in self._devices


class Gathering:
    """Takes messages as they come; gives what is to be told, at the pace of whoever asks."""

    def __init__(self, probes: Iterable[GatewayProbe], named: Iterable[str] = ()) -> None:
        devices = [channel.rpartition("/")[0] for channel in named]
        self._branches = [_Branch(probe, devices) for probe in probes]
        self._heard: dict[str, Heard] = {}
        self._kept: dict[str, Kept] = {}
        self._forgotten: dict[str, Forgotten] = {}

    def take(self, topic: str, payload: bytes, *, is_kept: bool, now: float) -> None:
        """One message; ``is_kept``: the broker had it from before, and it says nothing of now."""
        for branch in self._branches:
            levels = branch.filter.levels(topic)
            if levels is None:
                continue
            if is_kept:
                self._see_kept(branch, levels, now)
            else:
                self._hear(branch, levels, payload, now)

    def drain(self) -> list[Told]:
        """What came since the last time: of each channel the latest value."""
        told: list[Told] = []
        for news in (self._forgotten, self._kept, self._heard):
            told += news.values()
            news.clear()
        return told

    def troubles(self, now: float) -> dict[str, str]:
        """What is wrong with single declarations, by their names."""
        return {
            branch.probe.name: fitting(
                f"more than {MOST_DEVICES} devices send on {branch.probe.topic}: "
                f"name those you need in a topic each"
            )
            for branch in self._branches
            if branch.has_left_out(now)
        }

    def _see_kept(self, branch: _Branch, levels: tuple[str, ...], now: float) -> None:
        device = branch.device(levels, now)
        if device is not None:
            self._kept[device.name] = Kept(branch.probe.name, device.name)

    def _hear(self, branch: _Branch, levels: tuple[str, ...], payload: bytes, now: float) -> None:
        if not branch.knows(levels) and (silent := branch.make_way(now)) is not None:
            self._kept.pop(silent, None)
            self._heard.pop(silent, None)
            self._forgotten[silent] = Forgotten(silent)
        device = branch.device(levels, now)
        if device is None:
            return
        device.is_live = True
        allowed = device.may_be_read(now)
        packet = branch.reader.read(payload) if allowed else Packet(refusals=(_TOO_MANY,))
        before = self._heard.get(device.name) or Heard(branch.probe.name, device.name)
        self._heard[device.name] = _joined(before, packet)


def _joined(before: Heard, packet: Packet) -> Heard:
    """Of each channel the latest value; what was refused adds up."""
    battery = packet.battery_percent
    return replace(
        before,
        values={**before.values, **packet.temperatures},
        battery_percent=before.battery_percent if battery is None else battery,
        refused=before.refused + len(packet.refusals),
        reason=packet.refusals[-1][:_LONGEST_REASON] if packet.refusals else before.reason,
    )
