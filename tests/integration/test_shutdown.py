"""The daemon told to stop, in every phase of a Bluetooth link: it leaves nothing behind."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable
from pathlib import Path
from typing import Any

import pytest

from pullcall.simulators.bluetooth.control import Control
from pullcall.simulators.bluetooth.probes import Probe, Standard
from pullcall.simulators.bluetooth.process import adapter_process
from tests.integration.daemon import daemon, free_port
from tests.tools import require_tool

pytestmark = pytest.mark.integration

LEFT = "02:00:00:00:01:01"
PROBE = Probe(LEFT, "left", Standard.HEALTH_THERMOMETER, interval_s=0.25, advertise_s=0.2)
Seen = dict[str, Any]


async def nothing(control: Control) -> None:
    """Leave everything as it is."""


async def away(control: Control) -> None:
    """The probe is not in reach."""
    await control.vanish(LEFT)


async def hanging(control: Control) -> None:
    """A connect is never answered."""
    await control.hang_connect(LEFT)


async def unresolved(control: Control) -> None:
    """A link stands whose services are never found."""
    await control.hang_services(LEFT)


def is_scanning(seen: Seen) -> bool:
    return bool(seen["scanning"])


def is_connecting(seen: Seen) -> bool:
    return bool(seen["probes"][LEFT]["connects"])


def is_connected(seen: Seen) -> bool:
    return bool(seen["probes"][LEFT]["connected"])


def is_streaming(seen: Seen) -> bool:
    return bool(seen["probes"][LEFT]["notifying"])


async def until(control: Control, holds: Callable[[Seen], bool]) -> None:
    async with asyncio.timeout(60):
        while not holds(await control.state()):  # noqa: ASYNC110 - another process
            await asyncio.sleep(0.01)


@pytest.mark.parametrize(
    ("prepare", "phase"),
    [
        (away, is_scanning),
        (hanging, is_connecting),
        (nothing, is_connecting),
        (unresolved, is_connected),
        (nothing, is_streaming),
    ],
    ids=["scanning", "a connect hangs", "connecting", "looking for services", "streaming"],
)
async def test_no_link_scan_or_subscription_is_left_after_sigterm(
    prepare: Callable[[Control], Awaitable[None]],
    phase: Callable[[Seen], bool],
    tmp_path: Path,
) -> None:
    require_tool("dbus-daemon", "dbus")
    arguments = ("serve", "--log", str(tmp_path / "cooks.db"))
    async with adapter_process([PROBE]) as adapter:
        await prepare(adapter.control)
        async with daemon(*arguments, port=free_port(), bus=adapter.bus) as site:
            await until(adapter.control, phase)
        assert site.process.returncode == 0
        seen = await adapter.control.state()
        assert not seen["scanning"]
        assert not seen["probes"][LEFT]["connected"]
        assert not seen["probes"][LEFT]["notifying"]


async def test_a_kill_leaves_its_link_which_the_next_start_takes_over_and_lets_go(
    tmp_path: Path,
) -> None:
    """That this is seen at all shows that the questions above can be answered with yes."""
    require_tool("dbus-daemon", "dbus")
    arguments = ("serve", "--log", str(tmp_path / "cooks.db"))
    async with adapter_process([PROBE]) as adapter:
        async with daemon(*arguments, port=free_port(), bus=adapter.bus) as site:
            await until(adapter.control, is_streaming)
            site.kill()
            await site.process.wait()
        assert is_connected(await adapter.control.state())
        async with daemon(*arguments, port=free_port(), bus=adapter.bus):
            await until(adapter.control, is_streaming)
        assert not is_connected(await adapter.control.state())
