"""The phone page with ``pullcall demo`` behind it, each as a separate process."""

from __future__ import annotations

import re
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path

import pytest
from playwright.sync_api import Browser, ConsoleMessage, Page, expect

from tests.integration.daemon import free_pair
from tests.page.patience import HANG_MS, HANG_S, becomes
from tests.page.visit import WATCH, marked

pytestmark = pytest.mark.integration

PULL_IS_CALLED = "window.heardCalls.some(({ call }) => call.startsWith('pull_'))"
#: The first pull, about ten minutes into the cook, comes within the test's deadline.
QUICK = 12
#: Long enough for a busy machine to open the page and mark, while a steak is on.
SLOW = 4


@pytest.fixture
def demo(browser: Browser, tmp_path: Path) -> Iterator[Callable[[int], str]]:
    """Starts a demo at a speed: its address, once it has said that it serves.

    The browser is there before it: starting one takes a busy machine a good part of a cook.
    """
    with ExitStack() as ends:
        yield lambda speed: ends.enter_context(_demo(speed, tmp_path / "demo.db"))


@contextmanager
def _demo(speed: int, log: Path) -> Iterator[str]:
    port = free_pair()
    command = [sys.executable, "-m", "pullcall", "demo", "--speed", str(speed)]
    command += ["--port", str(port), "--log", str(log)]
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, text=True, env={"PYTHONUNBUFFERED": "1"}
    ) as process:
        assert process.stdout
        said = next((line for line in process.stdout if "127.0.0.1" in line), None)
        assert said is not None, "the demo ended before it served"
        yield f"http://127.0.0.1:{port}/"
        process.terminate()
        process.wait(HANG_S)


@pytest.fixture
def page(browser: Browser) -> Iterator[Page]:
    page = browser.new_page(viewport={"width": 390, "height": 844}, device_scale_factor=2)
    page.context.set_default_timeout(HANG_MS)
    page.add_init_script(WATCH)
    yield page
    page.context.close()


def _complaints(page: Page) -> list[str]:
    """What the browser complains of from now on, but for words that are gone.

    A demo that runs so much faster than life has forgotten a call's words before a busy machine
    comes to fetch them; the tone sounds all the same.
    """
    complaints: list[str] = []

    def told(message: ConsoleMessage) -> None:
        if message.type == "error" and "/api/v1/clips/" not in message.location["url"]:
            complaints.append(message.text)

    page.on("console", told)
    page.on("pageerror", lambda error: complaints.append(str(error)))
    return complaints


def _arm(page: Page) -> None:
    page.get_by_role("button", name="Tap to hear calls").click()
    page.get_by_role("button", name="Yes", exact=True).click()


def test_a_demo_cook_is_watched_and_called(page: Page, demo: Callable[[int], str]) -> None:
    complaints = _complaints(page)
    page.goto(demo(QUICK))
    _arm(page)
    expect(page.locator("#notice")).to_contain_text(f"{QUICK} times life")
    expect(page.locator(".digits")).to_have_count(2)
    for digits in page.locator(".digits").all():
        expect(digits).not_to_have_text(digits.inner_text())
    # At this speed a busy machine tells of a pull, and that it is done, before it is painted: what
    # the page called aloud stays. The simulated cook answers.
    becomes(page, lambda: page.evaluate(PULL_IS_CALLED), True)
    expect(page.locator(".lane0 .phase")).to_have_text("resting")
    assert complaints == []


def test_a_demo_cook_is_marked(page: Page, demo: Callable[[int], str]) -> None:
    complaints = _complaints(page)
    page.goto(demo(SLOW))
    _arm(page)
    expect(page.locator(".lane0 .phase")).to_have_text("cooking")
    page.get_by_role("region", name="Left").get_by_role("button", name="more marks").click()
    page.get_by_role("button", name="Baste").click()
    expect(page.locator("#slot")).to_contain_text(marked("Left: baste"))
    # The simulated cook's own marks have an undo there as well.
    slot = page.locator("#slot").filter(has_text="Left: baste")
    slot.get_by_role("button", name="Undo", exact=True).click()
    expect(page.locator("#slot")).to_contain_text("Taken back: Left: baste")
    assert complaints == []


def test_without_a_websocket_the_same_messages_come_as_events(
    page: Page, demo: Callable[[int], str]
) -> None:
    asked: list[str] = []
    page.route_web_socket(re.compile("/stream"), lambda socket: socket.close())
    page.on("request", lambda request: asked.append(request.url))
    page.goto(demo(SLOW))
    core = page.locator(".lane0 .core")
    expect(core).to_contain_text("°F")
    expect(core).not_to_have_text(core.inner_text())
    expect(page.locator("#notice")).to_contain_text("Demo")
    assert any("/api/v1/events" in url for url in asked)
    assert not any("/api/v1/snapshot" in url for url in asked)
