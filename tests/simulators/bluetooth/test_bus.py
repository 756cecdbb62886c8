"""The private message bus."""

from __future__ import annotations

import asyncio
import contextlib
import shutil
from pathlib import Path

import pytest
from dbus_fast import BusType
from dbus_fast.aio import MessageBus

from pullcall.errors import SourceError
from pullcall.simulators.bluetooth.bus import PrivateBus, private_bus
from tests.tools import require_tool


async def test_a_missing_program_is_named_with_the_package_that_has_it(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(shutil, "which", lambda _program, path=None: None)
    with pytest.raises(SourceError, match="apt install dbus"):
        async with private_bus():
            pass


@pytest.mark.integration
async def test_a_bus_serves_for_the_length_of_its_block() -> None:
    require_tool("dbus-daemon", "dbus")
    async with private_bus() as address:
        bus = await MessageBus(address, bus_type=BusType.SYSTEM).connect()
        assert bus.unique_name
        bus.disconnect()
        await bus.wait_for_disconnect()  # type: ignore[no-untyped-call]
    with pytest.raises(OSError, match=r"No such file|refused"):
        await asyncio.open_unix_connection(address.removeprefix("unix:path=").split(",")[0])


@pytest.mark.integration
async def test_two_buses_do_not_meet() -> None:
    require_tool("dbus-daemon", "dbus")
    async with private_bus() as one, private_bus() as other:
        assert one != other


@pytest.mark.integration
async def test_a_bus_that_comes_back_is_found_at_its_address(tmp_path: Path) -> None:
    require_tool("dbus-daemon", "dbus")
    bus = PrivateBus(tmp_path)
    for _ in range(2):
        await bus.start()
        client = await MessageBus(bus.address, bus_type=BusType.SYSTEM).connect()
        await bus.stop()
        with contextlib.suppress(EOFError, OSError):
            await client.wait_for_disconnect()  # type: ignore[no-untyped-call]
        assert not client.connected
        client.disconnect()
