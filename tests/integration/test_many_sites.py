"""Sites, a broker, a board and a browser: each the real one, in a process of its own.

The readings are a straight rise, simulated.
"""

from __future__ import annotations

import asyncio
import re
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

import httpx
import pytest
from playwright.async_api import Page, async_playwright, expect

from pullcall.simulators.bluetooth.control import Control
from pullcall.simulators.bluetooth.probes import Probe, Standard
from pullcall.simulators.bluetooth.process import adapter_process
from tests.broker import Broker, running_broker
from tests.integration.daemon import Daemon, Message, daemon, free_port
from tests.page.visit import ARGS
from tests.tools import require_tool

pytestmark = pytest.mark.integration

LEFT, RIGHT = "02:00:00:00:02:01", "02:00:00:00:02:02"
PROBES = (
    Probe(LEFT, "left steak", Standard.HEALTH_THERMOMETER, interval_s=0.25, start_c=45.0),
    Probe(RIGHT, "right steak", Standard.COOKWARE, interval_s=0.25, start_c=40.0),
)
SITE = f"""
[loudspeaker]
enabled = false
[[steak]]
name = "left"
probe = "{LEFT}/1"
[[steak]]
name = "right"
probe = "{RIGHT}/1"
"""


@asynccontextmanager
async def site_north(folder: Path, broker: Broker, bus: str) -> AsyncIterator[Daemon]:
    """A site that hears the virtual adapter and publishes over TLS."""
    config = folder / "north.toml"
    config.write_text(broker.toml("north") + 'name = "North grill"\n' + SITE)
    command = ("serve", "--config", str(config), "--log", str(folder / "north.db"))
    async with daemon(*command, port=free_port(), bus=bus) as site:
        yield site


@asynccontextmanager
async def a_board(folder: Path, broker: Broker) -> AsyncIterator[Daemon]:
    """A board that may only read."""
    config = folder / "board.toml"
    config.write_text(broker.toml("board"))
    async with daemon("board", "--config", str(config), port=free_port()) as board:
        yield board


@asynccontextmanager
async def a_phone(board: Daemon) -> AsyncIterator[Page]:
    """A phone's browser on the board's page."""
    chromium = require_tool("chromium", "chromium")
    async with async_playwright() as play:
        browser = await play.chromium.launch(executable_path=chromium, args=ARGS)
        page = await browser.new_page(viewport={"width": 390, "height": 844})
        await page.goto(board.url.removesuffix("api/v1"))
        yield page
        await browser.close()


async def row_of(board: Daemon, site: str, state: str) -> Message:
    """The board's row of a site, once it is in that state with both steaks' readings."""
    async with asyncio.timeout(60), httpx.AsyncClient() as client:
        while True:
            answer = (await client.get(f"{board.url}/sites")).raise_for_status().json()
            for row in answer["rows"]:
                if row["site"] == site and row["state"] == state and is_whole(row):
                    found: Message = row
                    return found
            await asyncio.sleep(0.1)


def is_whole(row: Message) -> bool:
    """Whether both steaks' readings are there."""
    known = [one["celsius"] for one in row["steaks"]]
    return len(known) == 2 and None not in known


async def set_both(control: Control, left_c: float, right_c: float) -> None:
    await control.feed([(LEFT, "1", left_c), (RIGHT, "1", right_c)])


async def test_a_probe_is_seen_on_a_board_at_the_other_end_of_the_broker(tmp_path: Path) -> None:
    require_tool("dbus-daemon", "dbus")
    with running_broker(tmp_path / "broker") as broker:
        async with (
            adapter_process(PROBES) as adapter,
            site_north(tmp_path, broker, adapter.bus) as north,
            a_board(tmp_path, broker) as board,
        ):
            await row_of(board, "north", "here")
            await north.post("marks", mark="on", ago_s=60)
            async with a_phone(board) as page:
                row = page.get_by_role("link", name=re.compile("North grill"))
                await set_both(adapter.control, 47.0, 42.0)
                await expect(row).to_contain_text("116.6", timeout=20_000)  # 47 C
                await expect(row).to_contain_text("107.6")
                await expect(row).to_contain_text(re.compile("turn", re.IGNORECASE))
                await row.click()
                await expect(page.locator(".lane.lane0")).to_contain_text("116", timeout=20_000)
                await set_both(adapter.control, 48.0, 43.0)
                await expect(page.locator(".lane.lane0")).to_contain_text("118", timeout=20_000)
            await nothing_can_be_done(board)


async def nothing_can_be_done(board: Daemon) -> None:
    """Even this machine's own browser only looks on through a board."""
    async with httpx.AsyncClient() as client:
        url = board.url.replace("/api/v1", "/sites/north/api/v1/marks")
        answer = await client.post(url, json={"mark": "off"})
    assert answer.status_code == 403
    assert answer.json()["detail"]


async def test_a_board_is_whole_again_from_retained_state_alone(tmp_path: Path) -> None:
    require_tool("dbus-daemon", "dbus")
    with running_broker(tmp_path / "broker") as broker:
        async with adapter_process(PROBES) as adapter:
            async with (
                site_north(tmp_path, broker, adapter.bus) as north,
                a_board(tmp_path, broker) as board,
            ):
                await north.post("marks", mark="on", ago_s=60)
                before = await row_of(board, "north", "here")
                board.kill()
                north.kill()
                await north.process.wait()
            async with a_board(tmp_path, broker) as again:
                after = await row_of(again, "north", "lost")
                assert [s["phase"] for s in after["steaks"]] == ["on", "on"]
                assert after["name"] == before["name"]
                assert after["alarm"]["text"], "a site that is lost while it cooks needs somebody"
                async with a_phone(again) as page:
                    await page.get_by_role("link", name=re.compile("North grill")).click()
                    await expect(page.locator(".lane.lane1")).to_contain_text("104", timeout=20_000)
