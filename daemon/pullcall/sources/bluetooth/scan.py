"""The one scan of the daemon: a thin shell around bleak's scanner."""

from __future__ import annotations

import asyncio
import contextlib
from collections.abc import Callable, Sequence

from bleak import BleakAdapter, BleakScanner
from bleak.backends.device import BLEDevice
from bleak.backends.scanner import AdvertisementData

from pullcall.clock import Clock
from pullcall.sources.bluetooth.pace import ScanVerdict, ScanWatch
from pullcall.sources.bluetooth.recognise import Advert
from pullcall.sources.bluetooth.why import Strays
from pullcall.sources.timings import Timings

#: What BlueZ shows for a signal that it has not measured, dBm.
_NO_RSSI = -127

Heard = Callable[[BLEDevice, Advert], None]


class Scan:
    """Scans all through the cook, for a device that is not scanned for disappears."""

    def __init__(
        self, adapter: str, timings: Timings, life: Clock, strays: Strays, heard: Heard
    ) -> None:
        self._adapter = adapter
        self._timings = timings
        self._life = life
        self._strays = strays
        self._report = heard
        self._watch = ScanWatch(timings)

    @property
    def is_stuck(self) -> bool:
        """Whether nothing has been heard through several fresh starts."""
        return self._watch.is_stuck

    async def run(self, is_wanted: Callable[[], bool], started: asyncio.Event) -> None:
        """Scan until cancelled; ``started`` is set once the first scan runs.

        :raises BleakError: the scan cannot be started (the caller waits and tries again).
        """
        while True:
            scanner = self._scanner()
            try:
                await self._strays.within(self._timings.connect_s, scanner.start())
                self._watch.started(self._life.monotonic())
                started.set()
                await self._until_quiet(is_wanted)
            finally:
                # Waited for, or a late stop would end the scan that follows.
                with contextlib.suppress(Exception):
                    await self._strays.within(self._timings.read_s, scanner.stop())

    async def connected(self, services: Sequence[str]) -> list[tuple[BLEDevice, Advert]]:
        """Devices that are connected already, left over from a crash: they do not advertise."""
        adapter = await BleakAdapter.get(bluez={"adapter": self._adapter})
        devices = await adapter.get_connected_devices(list(services))
        return [(device, _as_advert(device)) for device in devices]

    def _scanner(self) -> BleakScanner:
        return BleakScanner(
            self._heard,
            bluez={"adapter": self._adapter, "filters": {"DuplicateData": True}},
        )

    async def _until_quiet(self, is_wanted: Callable[[], bool]) -> None:
        verdict = ScanVerdict.GOES_ON
        while verdict is ScanVerdict.GOES_ON:
            await asyncio.sleep(self._timings.tick_s)
            verdict = self._watch.judge(self._life.monotonic(), is_wanted())

    def _heard(self, device: BLEDevice, data: AdvertisementData) -> None:
        self._watch.heard(self._life.monotonic())
        rssi = None if data.rssi == _NO_RSSI else data.rssi
        advert = Advert(
            address=device.address.upper(),
            name=device.name or data.local_name or "",
            services=frozenset(uuid.lower() for uuid in data.service_uuids),
            service_data=data.service_data,
            manufacturer_data=data.manufacturer_data,
            rssi_dbm=rssi,
        )
        self._report(device, advert)


def _as_advert(device: BLEDevice) -> Advert:
    uuids = device.details["props"].get("UUIDs", [])
    services = frozenset(uuid.lower() for uuid in uuids)
    return Advert(device.address.upper(), device.name or "", services, {}, {})
