"""The virtual adapter, through an unmodified Bluetooth client in this process."""

from __future__ import annotations

import asyncio
import contextlib
import json
import sys
from collections.abc import AsyncIterator, Callable

import pytest
from bleak import BleakAdapter, BleakClient, BleakScanner
from bleak.args.bluez import BlueZScannerArgs
from bleak.backends.characteristic import BleakGATTCharacteristic
from bleak.backends.device import BLEDevice
from bleak.backends.scanner import AdvertisementData
from bleak.exc import BleakBluetoothNotAvailableError, BleakDBusError, BleakError
from dbus_fast import BusType, Message
from dbus_fast.aio import MessageBus
from tests.tools import require_tool

from pullcall.errors import RefusedError, SourceError
from pullcall.simulators.bluetooth import probes as known
from pullcall.simulators.bluetooth.adapter import VirtualAdapter
from pullcall.simulators.bluetooth.bus import private_bus
from pullcall.simulators.bluetooth.control import Control
from pullcall.simulators.bluetooth.probes import Probe, Standard
from pullcall.simulators.bluetooth.process import AdapterProcess, adapter_process

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
EVERY_ADVERT: BlueZScannerArgs = {"filters": {"DuplicateData": True}}
NO_ARGUMENTS: BlueZScannerArgs = {}


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
    scanner = BleakScanner(heard, bluez=EVERY_ADVERT if duplicates else NO_ARGUMENTS)
    await scanner.start()
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
        return self.packets[start:]

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


async def test_a_scan_hears_every_probe_with_its_service(adapter: AdapterProcess) -> None:
    async with scan() as heard:
        for probe in PROBES:
            assert (await heard.device(probe)).name == probe.name
    assert heard.of(HEALTH)[0].service_uuids == [known.HEALTH_SERVICE, known.BATTERY_SERVICE]
    assert heard.of(DECLARED)[0].service_data == {}


async def test_an_advertiser_says_its_temperatures_in_its_adverts(control: Control) -> None:
    await control.feed([(ADVERTISER.address, "1", 38.71), (ADVERTISER.address, "2", 50.66)])
    async with scan() as heard:
        # The public BTHome v2 page: temperatures 38.71 and 50.66 C, battery 87 %.
        told = bytes.fromhex("0157 021f0f 02ca13")
        await heard.until(lambda: any(told in packet for packet in _packets(heard)))
    assert all(packet[:2] == bytes.fromhex("4000") for packet in _packets(heard))


async def test_each_measurement_of_an_advertiser_has_a_number_of_its_own(
    adapter: AdapterProcess,
) -> None:
    async with scan() as heard:
        await heard.until(lambda: len({packet[2] for packet in _packets(heard)}) >= 3)
    numbers = [packet[2] for packet in _packets(heard)]
    assert numbers == sorted(numbers)
    assert len(numbers) > len(set(numbers)), "each is sent more than once"


@pytest.mark.parametrize(
    ("probe", "uuid", "celsius", "packet"),
    [
        # Worked from the Bluetooth SIG GATT Specification Supplement.
        (HEALTH, known.HEALTH_MEASUREMENT, 54.34, "00 3a 15 00 fe"),
        (HEALTH, known.HEALTH_INTERMEDIATE, 54.34, "00 3a 15 00 fe"),
        (ENVIRONMENT, known.ENVIRONMENT_TEMPERATURE, -5.5, "da fd"),
        (COOKWARE, known.COOKING_TEMPERATURE, 54.3, "1f 02"),
        (COOKWARE, known.COOKING_TEMPERATURE, None, "00 80"),
        # Our own layout: battery percent, then tenths of a degree above -40.
        (DECLARED, known.DECLARED_CHARACTERISTIC, 54.3, "57 af 03"),
    ],
)
async def test_a_link_streams_what_the_standard_says(
    control: Control, probe: Probe, uuid: str, celsius: float | None, packet: str
) -> None:
    await control.set(probe.address, "1", celsius)
    async with link_to(probe) as link:
        await link.notify(uuid)
        assert await link.more(2) == [bytes.fromhex(packet)] * 2


async def test_sensors_of_one_device_are_told_apart_by_their_labels(control: Control) -> None:
    await control.feed([(ENVIRONMENT.address, "1", 1.0), (ENVIRONMENT.address, "3", 3.0)])
    async with link_to(ENVIRONMENT) as link:
        read = {}
        for characteristic in link.client.services.characteristics.values():
            label = characteristic.get_descriptor(known.USER_DESCRIPTION)
            if label is not None:
                text = bytes(await link.client.read_gatt_descriptor(label)).decode()
                read[text] = bytes(await link.client.read_gatt_char(characteristic))
    # 100, 2000 and 300 hundredths of a degree, little-endian.
    assert read == {"Probe 1": b"\x64\x00", "Probe 2": b"\xd0\x07", "Probe 3": b"\x2c\x01"}


async def test_the_battery_can_be_read(adapter: AdapterProcess) -> None:
    async with link_to(COOKWARE) as link:
        assert await link.client.read_gatt_char(known.BATTERY_LEVEL) == b"\x57"


async def test_a_dropped_link_is_seen_and_can_be_made_again(control: Control) -> None:
    async with scan() as heard:
        device = await heard.device(HEALTH)
        for _ in range(2):
            link = Link(device)
            await link.client.connect(timeout=DEADLINE_S)
            await link.notify(known.HEALTH_INTERMEDIATE)
            await link.more()
            await control.drop(HEALTH.address)
            await ended(link)
            assert not link.client.is_connected
    assert (await control.state())["probes"][HEALTH.address]["links"] == 2


async def test_a_silent_probe_stays_connected_and_sends_nothing(control: Control) -> None:
    async with link_to(HEALTH) as silent, link_to(COOKWARE) as other:
        await silent.notify(known.HEALTH_INTERMEDIATE)
        await silent.more()
        await control.silence(HEALTH.address)
        before = len(silent.packets)
        await other.notify(known.COOKING_TEMPERATURE)
        await other.more(4)
        assert (silent.client.is_connected, len(silent.packets)) == (True, before)
        await control.silence(HEALTH.address, on=False)
        await silent.more()


async def test_a_silent_advertiser_repeats_its_last_packet(control: Control) -> None:
    await control.silence(ADVERTISER.address)
    await control.set(ADVERTISER.address, "1", 90.0)
    async with scan() as heard:
        await heard.until(lambda: len(_packets(heard)) >= 8)
    assert len(set(_packets(heard))) == 1


async def test_a_connect_is_refused_while_another_is_under_way(control: Control) -> None:
    await control.hang_connect(HEALTH.address)
    async with scan() as heard:
        hung = Link(await heard.device(HEALTH))
        connecting = asyncio.create_task(hung.client.connect(timeout=DEADLINE_S))
        await _connects(control, HEALTH, 1)
        with pytest.raises(BleakDBusError, match="InProgress"):
            await Link(await heard.device(COOKWARE)).client.connect(timeout=DEADLINE_S)
        connecting.cancel()
        with pytest.raises(asyncio.CancelledError):
            await connecting
        other = Link(await heard.device(COOKWARE))
        await other.client.connect(timeout=DEADLINE_S)
        await other.client.disconnect()


async def test_connects_can_be_refused_as_in_progress_a_number_of_times(control: Control) -> None:
    await control.in_progress(HEALTH.address, 2)
    async with scan() as heard:
        device = await heard.device(HEALTH)
        for _ in range(2):
            with pytest.raises(BleakDBusError, match="InProgress"):
                await Link(device).client.connect(timeout=DEADLINE_S)
    async with link_to(HEALTH) as link:
        assert link.client.is_connected


async def test_a_hanging_connect_ends_with_the_clients_own_time_limit(control: Control) -> None:
    await control.hang_connect(HEALTH.address)
    async with scan() as heard:
        device = await heard.device(HEALTH)
        with pytest.raises(TimeoutError):
            await Link(device).client.connect(timeout=0.1)
        await control.hang_connect(HEALTH.address, on=False)
        link = Link(device)
        await link.client.connect(timeout=DEADLINE_S)
        await link.client.disconnect()


async def test_an_aborted_connect_comes_up_and_breaks_at_once(control: Control) -> None:
    await control.abort(HEALTH.address, 2)
    async with link_to(HEALTH):  # the client tries this error again by itself
        seen = (await control.state())["probes"][HEALTH.address]
    assert (seen["connects"], seen["links"]) == (3, 3)


async def test_a_killed_service_says_no_goodbye_and_comes_back_empty(control: Control) -> None:
    async with scan() as heard:
        lost = Link(await heard.device(HEALTH))
        await lost.client.connect(timeout=DEADLINE_S)
        await control.bluetoothd_stop(tidy=False)
        assert not (await control.state())["bluetoothd"]
        await control.bluetoothd_start()
        assert (await control.state())["scanning"] is False
        # The client does not notice: whoever reads probes has to watch the bus name.
        assert (lost.client.is_connected, lost.ended.is_set()) == (True, False)
        with contextlib.suppress(BleakDBusError):
            await lost.client.disconnect()
    async with link_to(HEALTH) as link:
        await link.notify(known.HEALTH_INTERMEDIATE)
        await link.more()


async def test_a_service_that_stops_in_order_ends_its_links(control: Control) -> None:
    async with link_to(HEALTH) as link:
        await control.bluetoothd_stop(tidy=True)
        await ended(link)
        await control.bluetoothd_start()


async def test_a_change_of_the_services_owner_is_on_the_bus(
    adapter: AdapterProcess, control: Control
) -> None:
    async with _plain_client(adapter) as bus:
        owners = await _name_owners(bus)
        await control.bluetoothd_stop(tidy=False)
        await control.bluetoothd_start()
        async with asyncio.timeout(DEADLINE_S):
            assert await owners.get() == ""
            assert (await owners.get()).startswith(":")


async def test_switching_the_adapter_off_ends_links_and_forbids_scans(control: Control) -> None:
    async with link_to(HEALTH) as link:
        await control.adapter_off()
        await ended(link)
        with pytest.raises(BleakBluetoothNotAvailableError):
            await BleakScanner().start()
        await control.adapter_on()
    async with link_to(HEALTH):
        assert (await control.state())["powered"]


async def test_pulling_the_adapter_takes_its_devices_without_ending_the_link(
    control: Control,
) -> None:
    async with scan() as heard:
        link = Link(await heard.device(HEALTH))
        await link.client.connect(timeout=DEADLINE_S)
        await control.adapter_remove()
        with pytest.raises(BleakBluetoothNotAvailableError):
            await BleakScanner().start()
        assert not link.ended.is_set()
        await control.adapter_add()
        with contextlib.suppress(BleakDBusError):
            await link.client.disconnect()
    async with link_to(HEALTH):
        assert (await control.state())["adapter"]


async def test_unchanged_adverts_are_held_back_unless_duplicates_are_asked_for(
    control: Control,
) -> None:
    async with scan(duplicates=False) as heard:
        await heard.until(lambda: len(heard.of(ADVERTISER)) >= 3)
        assert len(heard.of(HEALTH)) == 1
        await control.filter_repeats(False)
        await heard.until(lambda: len(heard.of(HEALTH)) >= 3)
    await control.filter_repeats(True)
    async with scan(duplicates=True) as heard:
        await heard.until(lambda: len(heard.of(HEALTH)) >= 3)


async def test_any_packet_can_be_sent_once(control: Control) -> None:
    async with link_to(HEALTH) as link:
        await link.notify(known.HEALTH_INTERMEDIATE)
        await control.refuse_packet(HEALTH.address, b"\xff", known.HEALTH_INTERMEDIATE)
        await link.until(lambda: b"\xff" in link.packets)
        await link.more()
    assert link.packets.count(b"\xff") == 1
    async with scan() as heard:
        await heard.device(ADVERTISER)
        await control.refuse_packet(ADVERTISER.address, b"\x40\x7f")
        await heard.until(lambda: b"\x40\x7f" in _packets(heard))


async def test_a_probe_out_of_reach_is_gone_until_it_returns(control: Control) -> None:
    async with link_to(HEALTH) as link, scan() as heard:
        await control.vanish(HEALTH.address)
        await ended(link)
        start, others = len(heard.of(HEALTH)), len(heard.of(COOKWARE))
        await heard.until(lambda: len(heard.of(COOKWARE)) >= others + 3)
        assert len(heard.of(HEALTH)) == start
        await control.come_back(HEALTH.address)
        await heard.until(lambda: len(heard.of(HEALTH)) >= start + 1)


async def test_an_orphan_is_connected_without_having_been_heard(control: Control) -> None:
    await control.orphan(HEALTH.address)
    backend = await BleakAdapter.get()
    (device,) = await backend.get_connected_devices([known.HEALTH_SERVICE])
    link = Link(device)
    await link.client.connect(timeout=DEADLINE_S)
    await link.notify(known.HEALTH_INTERMEDIATE)
    await link.more()
    await link.client.disconnect()
    seen = (await control.state())["probes"][HEALTH.address]
    assert (seen["connects"], seen["links"], seen["connected"]) == (0, 1, False)


async def test_a_client_that_dies_leaves_its_link_behind(
    adapter: AdapterProcess, control: Control
) -> None:
    async with scan() as heard:
        path = (await heard.device(HEALTH)).details["path"]
        async with _plain_client(adapter) as bus:
            await bus.call(_call(path, "org.bluez.Device1", "Connect"))
            await bus.call(_call("/org/bluez/hci0", "org.bluez.Adapter1", "StartDiscovery"))
    async with asyncio.timeout(DEADLINE_S):
        while (await control.state())["scanning"]:
            pass
    assert (await control.state())["probes"][HEALTH.address]["connected"]


async def test_a_device_is_forgotten_some_time_after_the_scan(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    require_tool("dbus-daemon", "dbus")
    async with private_bus() as bus, VirtualAdapter(bus, [COOKWARE], forget_s=0.1) as adapter:
        monkeypatch.setenv("DBUS_SYSTEM_BUS_ADDRESS", bus)
        async with scan() as heard:
            device = await heard.device(COOKWARE)
        async with asyncio.timeout(DEADLINE_S):
            while adapter.state()["probes"][COOKWARE.address]["known"]:  # noqa: ASYNC110
                await asyncio.sleep(0)
        with pytest.raises(BleakError, match="not found"):
            await BleakClient(device).connect()
        async with link_to(COOKWARE) as link:
            assert link.client.is_connected


async def test_a_probe_can_be_added_while_the_adapter_runs(control: Control) -> None:
    late = Probe("02:00:00:00:00:09", "late", Standard.COOKWARE, advertise_s=0.05)
    await control.add(late)
    async with scan() as heard:
        assert (await heard.device(late)).name == "late"


async def test_an_act_on_an_unknown_probe_is_refused_with_the_reason(control: Control) -> None:
    with pytest.raises(RefusedError, match="no virtual probe has the address"):
        await control.drop("02:00:00:00:00:FF")
    with pytest.raises(RefusedError, match="it has 1, 2, 3"):
        await control.set(ENVIRONMENT.address, "4", 20.0)
    with pytest.raises(RefusedError, match="choose another"):
        await control.add(HEALTH)
    with pytest.raises(RefusedError, match="a request needs"):
        await control.request("burn")


async def test_the_process_ends_with_the_program_that_started_it() -> None:
    require_tool("dbus-daemon", "dbus")
    process = await asyncio.create_subprocess_exec(
        *(sys.executable, "-m", "pullcall.simulators.bluetooth", "--until-stdin-closes"),
        stdin=asyncio.subprocess.PIPE,
        stdout=asyncio.subprocess.PIPE,
    )
    assert process.stdin is not None
    assert process.stdout is not None
    ready = json.loads(await process.stdout.readline())
    process.stdin.close()
    async with asyncio.timeout(DEADLINE_S):
        assert await process.wait() == 0
    with pytest.raises(SourceError, match="no virtual adapter listens"):
        async with Control.open(ready["control"]):
            pass
    with pytest.raises(OSError, match=r"No such file|refused"):
        await asyncio.open_unix_connection(ready["bus"].removeprefix("unix:path=").split(",")[0])


def _packets(heard: Heard) -> list[bytes]:
    return [advert.service_data[known.BTHOME_SERVICE] for advert in heard.of(ADVERTISER)]


async def _connects(control: Control, probe: Probe, number: int) -> None:
    async with asyncio.timeout(DEADLINE_S):
        while (await control.state())["probes"][probe.address]["connects"] < number:
            pass


@contextlib.asynccontextmanager
async def _plain_client(adapter: AdapterProcess) -> AsyncIterator[MessageBus]:
    bus = await MessageBus(adapter.bus, bus_type=BusType.SYSTEM).connect()
    try:
        yield bus
    finally:
        bus.disconnect()
        await bus.wait_for_disconnect()  # type: ignore[no-untyped-call]


def _call(path: str, interface: str, member: str) -> Message:
    return Message(destination="org.bluez", path=path, interface=interface, member=member)


async def _name_owners(bus: MessageBus) -> asyncio.Queue[str]:
    owners: asyncio.Queue[str] = asyncio.Queue()

    def take(message: Message) -> None:
        if message.member == "NameOwnerChanged" and message.body[0] == "org.bluez":
            owners.put_nowait(message.body[2])

    bus.add_message_handler(take)
    watch = Message(
        destination="org.freedesktop.DBus",
        path="/org/freedesktop/DBus",
        interface="org.freedesktop.DBus",
        member="AddMatch",
        signature="s",
        body=["type='signal',member='NameOwnerChanged',arg0='org.bluez'"],
    )
    await bus.call(watch)
    return owners
