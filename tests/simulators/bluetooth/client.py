"""An unmodified Bluetooth client for the tests: what it hears, and what its links are sent."""

from __future__ import annotations

import asyncio
import contextlib
from collections.abc import AsyncIterator, Callable

from bleak import BleakClient, BleakScanner
from bleak.args.bluez import BlueZScannerArgs
from bleak.backends.characteristic import BleakGATTCharacteristic
from bleak.backends.device import BLEDevice
from bleak.backends.scanner import AdvertisementData
from bleak.exc import BleakBluetoothNotAvailableError, BleakDBusError
from dbus_fast import BusType, Message
from dbus_fast.aio import MessageBus

from pullcall.simulators.bluetooth import probes as known
from pullcall.simulators.bluetooth.control import Control
from pullcall.simulators.bluetooth.probes import Probe, Standard
from pullcall.simulators.bluetooth.process import AdapterProcess

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
DEADLINE_S = 60.0
EVERY_ADVERT: BlueZScannerArgs = {"filters": {"DuplicateData": True}}
NO_ARGUMENTS: BlueZScannerArgs = {}


async def start(scanner: BleakScanner) -> None:
    """Start a scan once the client has heard that the adapter is there."""
    async with asyncio.timeout(DEADLINE_S):
        while True:
            with contextlib.suppress(BleakBluetoothNotAvailableError):
                return await scanner.start()
            await asyncio.sleep(0.01)


async def scans_are_refused() -> None:
    """Return once the client has heard that it cannot scan."""
    async with asyncio.timeout(DEADLINE_S):
        while True:
            try:
                await BleakScanner().start()
            except BleakBluetoothNotAvailableError:
                return
            except BleakDBusError:
                continue  # refused by the service; the client has not heard why yet


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
    scanner = BleakScanner(heard, bluez=EVERY_ADVERT if duplicates else NO_ARGUMENTS)
    await start(scanner)
    try:
        yield heard
    finally:
        # A service that came back knows nothing of the scan, and says so.
        with contextlib.suppress(BleakDBusError):
            await scanner.stop()


class Link:
    """A connected client: the packets it was sent, and whether it saw the link end."""

    def __init__(self, device: BLEDevice) -> None:
        self.ended = asyncio.Event()
        self.packets: list[bytes] = []
        self.client = BleakClient(device, disconnected_callback=lambda _client: self.ended.set())
        self._news = asyncio.Event()

    async def notify(self, uuid: str, number: int = 0) -> None:
        found = self.client.services.characteristics.values()
        same = sorted((c for c in found if c.uuid == uuid), key=lambda c: c.handle)
        await self.client.start_notify(same[number], self._take)

    async def until(self, met: Callable[[], bool]) -> None:
        async with asyncio.timeout(DEADLINE_S):
            while not met():
                self._news.clear()
                await self._news.wait()

    async def more(self, packets: int = 1) -> list[bytes]:
        """The next packets, after those there are now."""
        start = len(self.packets)
        await self.until(lambda: len(self.packets) >= start + packets)
        return self.packets[start : start + packets]

    def _take(self, _characteristic: BleakGATTCharacteristic, packet: bytearray) -> None:
        self.packets.append(bytes(packet))
        self._news.set()


@contextlib.asynccontextmanager
async def link_to(probe: Probe) -> AsyncIterator[Link]:
    async with scan() as heard:
        link = Link(await heard.device(probe))
        await link.client.connect(timeout=DEADLINE_S)
    try:
        yield link
    finally:
        await link.client.disconnect()


async def ended(link: Link) -> None:
    async with asyncio.timeout(DEADLINE_S):
        await link.ended.wait()


def packets_of(heard: Heard) -> list[bytes]:
    return [advert.service_data[known.BTHOME_SERVICE] for advert in heard.of(ADVERTISER)]


async def connects(control: Control, probe: Probe, number: int) -> None:
    async with asyncio.timeout(DEADLINE_S):
        while (await control.state())["probes"][probe.address]["connects"] < number:
            pass


@contextlib.asynccontextmanager
async def plain_client(adapter: AdapterProcess) -> AsyncIterator[MessageBus]:
    bus = await MessageBus(adapter.bus, bus_type=BusType.SYSTEM).connect()
    try:
        yield bus
    finally:
        bus.disconnect()
        await bus.wait_for_disconnect()  # type: ignore[no-untyped-call]


def bus_call(path: str, interface: str, member: str) -> Message:
    return Message(destination="org.bluez", path=path, interface=interface, member=member)
