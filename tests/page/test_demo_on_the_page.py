"""The phone page with ``pullcall demo`` behind it, each as a separate process."""

from __future__ import annotations

import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import expect, sync_playwright

from tests.integration.daemon import free_pair
from tests.page.patience import HANG_S, becomes
from tests.page.visit import ARGS, WATCH
from tests.tools import require_tool

pytestmark = pytest.mark.integration

PULL_IS_CALLED = "window.heardCalls.some(({ call }) => call.startsWith('pull_'))"
SPEED = 20  # the first pull, about ten minutes into the cook, comes within the test's deadline


@pytest.fixture
def demo(tmp_path: Path) -> Iterator[str]:
    """The demo's address, once it has said that it serves."""
    port = free_pair()
    command = [sys.executable, "-m", "pullcall", "demo", "--speed", str(SPEED)]
    command += ["--port", str(port), "--log", str(tmp_path / "demo.db")]
    with subprocess.Popen(
        [*command], stdout=subprocess.PIPE, text=True, env={"PYTHONUNBUFFERED": "1"}
    ) as process:
        assert process.stdout
        said = next((line for line in process.stdout if "127.0.0.1" in line), None)
        assert said is not None, "the demo ended before it served"
        yield f"http://127.0.0.1:{port}/"
        process.terminate()
        process.wait(HANG_S)


def test_a_demo_cook_is_watched_marked_and_called(demo: str) -> None:
    path = require_tool("chromium", "chromium")
    complaints: list[str] = []
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=ARGS)
        page = browser.new_page(viewport={"width": 390, "height": 844}, device_scale_factor=2)
        page.on("console", lambda m: complaints.append(m.text) if m.type == "error" else None)
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.add_init_script(WATCH)
        page.goto(demo)
        page.get_by_role("button", name="Tap to hear calls").click()
        page.get_by_role("button", name="Yes", exact=True).click()
        expect(page.locator("#notice")).to_contain_text(f"{SPEED} times life")
        expect(page.locator(".digits")).to_have_count(2)
        left, right = page.locator(".digits").all()
        before = left.inner_text(), right.inner_text()
        expect(left).not_to_have_text(before[0])
        expect(right).not_to_have_text(before[1])
        page.get_by_role("region", name="Left").get_by_role("button", name="more marks").click()
        page.get_by_role("button", name="Baste").click()
        expect(page.locator("#slot")).to_contain_text("Left: baste")
        page.get_by_role("button", name="Undo", exact=True).click()
        expect(page.locator("#slot")).to_contain_text("Taken back: Left: baste")
        # At this speed a busy machine tells of a pull, and that it is done, before it is painted:
        # what the page called aloud stays. The simulated cook answers.
        becomes(page, lambda: page.evaluate(PULL_IS_CALLED), True)
        expect(page.locator(".lane0 .phase")).to_have_text("resting")
        browser.close()
    assert complaints == []


def test_without_a_websocket_the_same_messages_come_as_events(demo: str) -> None:
    path = require_tool("chromium", "chromium")
    asked: list[str] = []
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=ARGS)
        page = browser.new_page(viewport={"width": 390, "height": 844})
        page.route_web_socket(re.compile("/stream"), lambda socket: socket.close())
        page.on("request", lambda request: asked.append(request.url))
        page.goto(demo)
        core = page.locator(".lane0 .core")
        expect(core).to_contain_text("°F")
        before = core.inner_text()
        expect(core).not_to_have_text(before)
        expect(page.locator("#notice")).to_contain_text("Demo")
        browser.close()
    assert any("/api/v1/events" in url for url in asked)
    assert not any("/api/v1/snapshot" in url for url in asked)
