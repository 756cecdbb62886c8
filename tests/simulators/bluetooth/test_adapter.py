"""The virtual adapter, through an unmodified Bluetooth client in this process."""

from __future__ import annotations

import asyncio
import contextlib
from collections.abc import AsyncIterator, Callable

import pytest
from bleak import BleakClient, BleakScanner
from bleak.backends.characteristic import BleakGATTCharacteristic
from bleak.backends.device import BLEDevice
from bleak.backends.scanner import AdvertisementData
from bleak.exc import BleakDBusError

from pullcall.simulators.bluetooth import probes as known
from pullcall.simulators.bluetooth.control import Control
from pullcall.simulators.bluetooth.probes import Probe, Standard
from pullcall.simulators.bluetooth.process import AdapterProcess, adapter_process
from tests.tools import require_tool

pytestmark = pytest.mark.integration

HEALTH = Probe(
    "02:00:00:00:00:01", "health", Standard.HEALTH_THERMOMETER, interval_s=0.05, advertise_s=0.05
)
ENVIRONMENT = Probe(
    "02:00:00:00:00:02",
    "environment",
    Standard.ENVIRONMENTAL_SENSING,
    ("1", "2", "3"),
    interval_s=0.05,
    advertise_s=0.05,
)
COOKWARE = Probe(
    "02:00:00:00:00:03", "cookware", Standard.COOKWARE, interval_s=0.05, advertise_s=0.05
)
ADVERTISER = Probe(
    "02:00:00:00:00:04", "advertiser", Standard.BTHOME, ("1", "2"), interval_s=0.2, advertise_s=0.05
)
DECLARED = Probe(
    "02:00:00:00:00:05", "declared", Standard.DECLARED, interval_s=0.05, advertise_s=0.05
)
PROBES = (HEALTH, ENVIRONMENT, COOKWARE, ADVERTISER, DECLARED)

#: Longer than anything here takes; only a hang reaches it.
DEADLINE_S = 5.0
EVERY_ADVERT = {"filters": {"DuplicateData": True}}


@pytest.fixture
async def adapter(monkeypatch: pytest.MonkeyPatch) -> AsyncIterator[AdapterProcess]:
    require_tool("dbus-daemon", "dbus")
    async with adapter_process(PROBES) as running:
        monkeypatch.setenv("DBUS_SYSTEM_BUS_ADDRESS", running.bus)
        yield running


@pytest.fixture
def control(adapter: AdapterProcess) -> Control:
    return adapter.control


class Heard:
    """Collects what a scan hears, and waits for what a test needs."""

    def __init__(self) -> None:
        self.adverts: list[tuple[BLEDevice, AdvertisementData]] = []
        self._news = asyncio.Event()

    def __call__(self, device: BLEDevice, advert: AdvertisementData) -> None:
        self.adverts.append((device, advert))
        self._news.set()

    def of(self, probe: Probe) -> list[AdvertisementData]:
        return [advert for device, advert in self.adverts if device.address == probe.address]

    async def until(self, met: Callable[[], bool]) -> None:
        async with asyncio.timeout(DEADLINE_S):
            while not met():
                self._news.clear()
                await self._news.wait()

    async def device(self, probe: Probe) -> BLEDevice:
        await self.until(lambda: bool(self.of(probe)))
        return next(device for device, _ in self.adverts if device.address == probe.address)


@contextlib.asynccontextmanager
async def scan(*, duplicates: bool = True) -> AsyncIterator[Heard]:
    heard = Heard()
    async with BleakScanner(heard, bluez=EVERY_ADVERT if duplicates else {}):
        yield heard


async def test_a_scan_hears_every_probe_with_its_service(adapter: AdapterProcess) -> None:
    async with scan() as heard:
        for probe in PROBES:
            assert (await heard.device(probe)).name == probe.name
    assert heard.of(HEALTH)[0].service_uuids == [known.HEALTH_SERVICE, known.BATTERY_SERVICE]
    assert heard.of(DECLARED)[0].service_data == {}
