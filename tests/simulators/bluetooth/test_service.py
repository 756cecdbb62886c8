"""Connects, scans and clients, as an unmodified client meets them."""

from __future__ import annotations

import asyncio

import pytest
from bleak import BleakAdapter, BleakClient
from bleak.exc import BleakDBusError, BleakError

from pullcall.simulators.bluetooth import probes as known
from pullcall.simulators.bluetooth.adapter import VirtualAdapter
from pullcall.simulators.bluetooth.bus import private_bus
from pullcall.simulators.bluetooth.control import Control
from pullcall.simulators.bluetooth.process import AdapterProcess
from tests.simulators.bluetooth.client import (
    ADVERTISER,
    COOKWARE,
    DEADLINE_S,
    HEALTH,
    Link,
    bus_call,
    connects,
    link_to,
    plain_client,
    scan,
)
from tests.tools import require_tool

pytestmark = pytest.mark.integration


async def test_a_connect_is_refused_while_another_is_under_way(control: Control) -> None:
    await control.hang_connect(HEALTH.address)
    async with scan() as heard:
        hung = Link(await heard.device(HEALTH))
        connecting = asyncio.create_task(hung.client.connect(timeout=DEADLINE_S))
        await connects(control, HEALTH, 1)
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
        async with plain_client(adapter) as bus:
            await bus.call(bus_call(path, "org.bluez.Device1", "Connect"))
            await bus.call(bus_call("/org/bluez/hci0", "org.bluez.Adapter1", "StartDiscovery"))
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
