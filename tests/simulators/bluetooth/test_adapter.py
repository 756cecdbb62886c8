"""What happens to the adapter and to the Bluetooth service, as an unmodified client meets it."""

from __future__ import annotations

import asyncio
import contextlib

import pytest
from bleak.exc import BleakDBusError
from dbus_fast import Message
from dbus_fast.aio import MessageBus

from pullcall.simulators.bluetooth import probes as known
from pullcall.simulators.bluetooth.control import Control
from pullcall.simulators.bluetooth.process import AdapterProcess
from tests.simulators.bluetooth.client import (
    DEADLINE_S,
    HEALTH,
    Link,
    ended,
    link_to,
    plain_client,
    scan,
    scans_are_refused,
)

pytestmark = pytest.mark.integration


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
    async with plain_client(adapter) as bus:
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
        await scans_are_refused()
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
        await scans_are_refused()
        assert not link.ended.is_set()
        await control.adapter_add()
        with contextlib.suppress(BleakDBusError):
            await link.client.disconnect()
    async with link_to(HEALTH):
        assert (await control.state())["adapter"]


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
