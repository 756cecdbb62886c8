"""What still sounds, or is said, when the last part of the way to the cook's ears is broken.

The daemon and the browser are the real ones; the cook is simulated.
"""

from __future__ import annotations

import asyncio
from pathlib import Path

import pytest
from playwright.async_api import Page, async_playwright

from tests.integration.daemon import daemon, free_port, watching
from tests.page.visit import ARGS, WATCH
from tests.tools import require_tool

pytestmark = pytest.mark.integration

#: Times life: the demo's first pull comes about eleven minutes into its cook.
SPEED = 10
#: How long before the pull the link dies, cook seconds.
DIES_S = 30.0
LEFT_TO_PULL = """fetch("/api/v1/snapshot").then((answer) => answer.json()).then((snapshot) => {
  const due = snapshot.schedule.find((c) => c.call === "pull_now" && c.steaks.includes("left"));
  return due ? due.due_t - snapshot.t : 1e9;
})"""
LEFT_IS_CALLED = """window.heardCalls.some(
  (c) => c.call === "pull_now" && c.steaks.includes("left"))"""


async def until(page: Page, expression: str, seconds: float) -> None:
    """Wait for something in the page; its strict policy forbids the browser's own waiting."""
    async with asyncio.timeout(seconds):
        while not await page.evaluate(expression):  # noqa: ASYNC110 - the page has no event
            await asyncio.sleep(0.1)


async def test_a_page_whose_link_dies_30_s_before_a_pull_still_sounds_it(tmp_path: Path) -> None:
    chromium = require_tool("chromium", "chromium")
    port = free_port()
    demo = ["demo", "--speed", str(SPEED), "--log", str(tmp_path / "demo.db")]
    demo += ["--sound", str(tmp_path / "calls")]
    async with daemon(*demo, port=port) as site, async_playwright() as play:
        browser = await play.chromium.launch(executable_path=chromium, args=ARGS)
        page = await browser.new_page(viewport={"width": 390, "height": 844})
        await page.add_init_script(WATCH)
        await page.goto(f"http://127.0.0.1:{port}/")
        await page.get_by_role("button", name="Tap to hear calls").click()
        await page.get_by_role("button", name="Yes", exact=True).click()
        await until(page, f"{LEFT_TO_PULL}.then((left) => left <= {DIES_S})", 120)
        site.kill()
        assert not await page.evaluate(LEFT_IS_CALLED)
        await until(page, LEFT_IS_CALLED, 30)
        await browser.close()


async def test_with_a_failing_speaker_and_no_armed_phone_it_says_that_nobody_hears(
    tmp_path: Path,
) -> None:
    config = tmp_path / "pullcall.toml"
    config.write_text('[bluetooth]\nenabled = false\n[loudspeaker]\nplayer = ["/bin/false"]\n')
    arguments = ["serve", "--config", str(config), "--log", str(tmp_path / "cooks.db")]
    port = free_port()
    async with daemon(*arguments, port=port) as site, watching(site) as page:
        await site.post("marks", mark="on")
        said = await page.until(lambda m: m["type"] == "call" and m["call"] == "unheard", 30)
        assert said["text"] == "Nobody is hearing this: arm a phone or a speaker"
        heard = {c["name"]: c for c in (await site.snapshot())["readiness"]}["heard"]
        assert not heard["ok"]
        await site.post("phones", phone="hand-1", armed=True)
        await page.until(
            lambda m: (
                m["type"] == "call_state" and m["id"] == said["id"] and m["state"] == "cleared"
            ),
            15,
        )
