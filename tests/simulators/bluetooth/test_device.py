"""Virtual probes on the air and on a link, as an unmodified client meets them."""

from __future__ import annotations

import pytest

from pullcall.simulators.bluetooth import probes as known
from pullcall.simulators.bluetooth.control import Control
from pullcall.simulators.bluetooth.probes import Probe
from pullcall.simulators.bluetooth.process import AdapterProcess
from tests.simulators.bluetooth.client import (
    ADVERTISER,
    COOKWARE,
    DEADLINE_S,
    DECLARED,
    ENVIRONMENT,
    HEALTH,
    PROBES,
    Link,
    ended,
    link_to,
    packets_of,
    scan,
)

pytestmark = pytest.mark.integration


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
        await heard.until(lambda: any(told in packet for packet in packets_of(heard)))
    assert all(packet[:2] == bytes.fromhex("4000") for packet in packets_of(heard))


async def test_each_measurement_of_an_advertiser_has_a_number_of_its_own(
    adapter: AdapterProcess,
) -> None:
    async with scan() as heard:
        await heard.until(lambda: len({packet[2] for packet in packets_of(heard)}) >= 3)
    numbers = [packet[2] for packet in packets_of(heard)]
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
        await other.notify(known.COOKING_TEMPERATURE)
        await other.more()  # whatever was under way has arrived
        before = len(silent.packets)
        await other.more(4)
        assert (silent.client.is_connected, len(silent.packets)) == (True, before)
        await control.silence(HEALTH.address, on=False)
        await silent.more()


async def test_a_silent_advertiser_repeats_its_last_packet(control: Control) -> None:
    await control.silence(ADVERTISER.address)
    await control.set(ADVERTISER.address, "1", 90.0)
    async with scan() as heard:
        await heard.until(lambda: len(packets_of(heard)) >= 8)
    assert len(set(packets_of(heard))) == 1


async def test_any_packet_can_be_sent_once(control: Control) -> None:
    async with link_to(HEALTH) as link:
        await link.notify(known.HEALTH_INTERMEDIATE)
        await control.send_packet(HEALTH.address, b"\xff", known.HEALTH_INTERMEDIATE)
        await link.until(lambda: b"\xff" in link.packets)
        await link.more()
    assert link.packets.count(b"\xff") == 1
    async with scan() as heard:
        await heard.device(ADVERTISER)
        await control.send_packet(ADVERTISER.address, b"\x40\x7f")
        await heard.until(lambda: b"\x40\x7f" in packets_of(heard))


async def test_a_probe_out_of_reach_is_gone_until_it_returns(control: Control) -> None:
    async with link_to(HEALTH) as link, scan() as heard:
        await control.vanish(HEALTH.address)
        await ended(link)
        start, others = len(heard.of(HEALTH)), len(heard.of(COOKWARE))
        await heard.until(lambda: len(heard.of(COOKWARE)) >= others + 3)
        assert len(heard.of(HEALTH)) == start
        await control.come_back(HEALTH.address)
        await heard.until(lambda: len(heard.of(HEALTH)) >= start + 1)
