"""The devices that are followed: a bounded number, whoever floods the air."""

from __future__ import annotations

from pullcall.sources.bluetooth.pace import Freshness
from pullcall.sources.link import Link, Phase
from pullcall.sources.timings import Timings

#: So many devices are followed at once: many times the probes of one cook.
MOST_DEVICES = 64


class Device:
    """One device: its link, and which of its adverts are new."""

    def __init__(self, link: Link) -> None:
        self.link = link
        self.freshness = Freshness()
        self.heard_at = 0.0

    def may_make_way(self, now: float, timings: Timings) -> bool:
        """Whether it may be forgotten for another; one that is connected stays."""
        if self.link.phase is Phase.CONNECTED:
            return False
        unheard_s = now - self.heard_at
        if self.link.is_proven:
            return unheard_s >= timings.makes_way_s
        return unheard_s >= timings.stranger_makes_way_s or (
            self.link.attempts > 0 and self.link.phase is not Phase.CONNECTING
        )


class Devices:
    """Every device heard, by address. Each ``now`` is monotonic seconds."""

    def __init__(self, timings: Timings) -> None:
        self._timings = timings
        self._devices: dict[str, Device] = {}

    def links(self) -> list[Link]:
        """Every link, by address."""
        return [self._devices[address].link for address in sorted(self._devices)]

    def get(self, address: str) -> Device | None:
        """The device, where it is followed."""
        return self._devices.get(address)

    def add(self, link: Link) -> Device:
        """Follow one more; see :meth:`has_room`."""
        device = self._devices[link.address] = Device(link)
        return device

    def make_room(self, now: float) -> str | None:
        """Forget one that may make way, if there are too many; gives its address.

        The one that has sent the fewest values goes first, then the one longest unheard.
        """
        if self.has_room:
            return None
        devices = self._devices.values()
        candidates = [device for device in devices if device.may_make_way(now, self._timings)]
        if not candidates:
            return None
        least = min(candidates, key=lambda device: (device.link.values, device.heard_at))
        del self._devices[least.link.address]
        return least.link.address

    @property
    def has_room(self) -> bool:
        """Whether one more can be followed."""
        return len(self._devices) < MOST_DEVICES
