"""The phone page with ``pullcall demo`` behind it, each as a separate process."""

from __future__ import annotations

import re
import socket
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import expect, sync_playwright

from tests.page.visit import ARGS
from tests.tools import require_tool

pytestmark = pytest.mark.integration

SPEED = 20  # the first pull, about ten minutes into the cook, comes within the test's deadline


def _free_port() -> int:
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        port: int = listener.getsockname()[1]
        return port


@pytest.fixture
def demo(tmp_path: Path) -> Iterator[str]:
    """The demo's address, once it has said that it serves."""
    port = _free_port()
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
        process.wait(20)


def test_a_demo_cook_is_watched_marked_and_called(demo: str) -> None:
    path = require_tool("chromium", "chromium")
    complaints: list[str] = []
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=ARGS)
        page = browser.new_page(viewport={"width": 390, "height": 844}, device_scale_factor=2)
        page.on("console", lambda m: complaints.append(m.text) if m.type == "error" else None)
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.goto(demo)
        page.get_by_role("button", name="Tap to hear calls").click()
        page.get_by_role("button", name="Yes", exact=True).click()
        expect(page.locator("#notice")).to_contain_text(f"{SPEED} times life")
        left, right = page.locator(".digits").all()
        before = left.inner_text(), right.inner_text()
        expect(left).not_to_have_text(before[0])
        expect(right).not_to_have_text(before[1])
        page.get_by_role("region", name="Left").get_by_role("button", name="more marks").click()
        page.get_by_role("button", name="Baste").click()
        expect(page.locator("#slot")).to_contain_text("Left: baste")
        page.get_by_role("button", name="Undo", exact=True).click()
        expect(page.locator("#slot")).to_contain_text("Taken back: Left: baste")
        # On a machine that stands still for seconds, forty may be over before it could be told.
        expect(page.get_by_role("alert")).to_contain_text("pull in about", timeout=80000)
        # The simulated cook answers; at this speed "pull now" may be over before it is painted.
        expect(page.locator(".lane0 .phase")).to_have_text("resting", timeout=30000)
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
        expect(core).to_contain_text("°F", timeout=15000)
        before = core.inner_text()
        expect(core).not_to_have_text(before, timeout=15000)
        expect(page.locator("#notice")).to_contain_text("Demo")
        browser.close()
    assert any("/api/v1/events" in url for url in asked)
    assert not any("/api/v1/snapshot" in url for url in asked)
