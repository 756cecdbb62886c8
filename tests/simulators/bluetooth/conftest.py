"""A virtual adapter in a process of its own, for a test at a time."""

from __future__ import annotations

from collections.abc import AsyncIterator

import pytest

from pullcall.simulators.bluetooth.control import Control
from pullcall.simulators.bluetooth.process import AdapterProcess, adapter_process
from tests.simulators.bluetooth.client import PROBES
from tests.tools import require_tool


@pytest.fixture
async def adapter(monkeypatch: pytest.MonkeyPatch) -> AsyncIterator[AdapterProcess]:
    require_tool("dbus-daemon", "dbus")
    async with adapter_process(PROBES) as running:
        monkeypatch.setenv("DBUS_SYSTEM_BUS_ADDRESS", running.bus)
        yield running


@pytest.fixture
def control(adapter: AdapterProcess) -> Control:
    return adapter.control
