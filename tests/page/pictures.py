"""``python -m tests.page.pictures docs/images``: takes the pictures of README.md from the demo.

One demo is watched by four phones: a cook's and a watcher's, each by day and by night. Another demo
is of a board.
"""

from __future__ import annotations

import re
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import httpx
from playwright.sync_api import Browser, Page, ViewportSize, expect, sync_playwright

from tests.integration.daemon import free_pair
from tests.page.visit import ARGS

SIZE: ViewportSize = {"width": 390, "height": 844}
NAME = "pullcall.local"
_MAP = f"--host-resolver-rules=MAP {NAME} 127.0.0.1"
_NOW = re.compile("pull now", re.IGNORECASE)


def _zone() -> str:
    """One in which it is past one in the afternoon: nobody turns in at night."""
    ahead = 13 - datetime.now(UTC).hour
    return f"Etc/GMT{-ahead:+d}"  # its sign is that of POSIX: west is positive


_ZONE = _zone()


@dataclass(frozen=True)
class Phones:
    """A page by day and the same by night."""

    day: Page
    night: Page

    def picture(self, folder: Path, name: str) -> None:
        for scheme, page in (("day", self.day), ("night", self.night)):
            page.screenshot(path=folder / f"{name}-{scheme}.png")


@contextmanager
def demo(speed: float, port: int, *more: str) -> Iterator[None]:
    """A demo that phones may reach, started anew: its steaks are not on yet."""
    command = [sys.executable, "-m", "pullcall", "demo", "--speed", str(speed)]
    with tempfile.TemporaryDirectory() as state:
        command += ["--host", "0.0.0.0", "--port", str(port), *more]
        command += ["--sound", f"{state}/calls"]  # where no loudspeaker is, as with one
        environment = {"XDG_STATE_HOME": state, "XDG_CONFIG_HOME": state, "TZ": _ZONE}
        environment["PYTHONUNBUFFERED"] = "1"
        with subprocess.Popen(
            command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True, env=environment
        ) as process:
            assert process.stdout
            assert any("Ctrl-C" in line for line in process.stdout), "the demo did not start"
            try:
                yield
            finally:
                process.terminate()


def link(port: int, **wish: object) -> str:
    """A new link by the announced name, which leads here in the pictures' browser."""
    url = f"http://127.0.0.1:{port + 1}/api/v1/invitations"
    secret = httpx.post(url, json=wish).json()["links"][0].split("#")[1]
    return f"https://{NAME}:{port}/#{secret}"


def phones(browser: Browser, port: int, **wish: object) -> Phones:
    """Two phones, each paired by a link of its own."""
    opened = []
    for scheme in ("light", "dark"):
        page = browser.new_page(
            viewport=SIZE,
            device_scale_factor=1.5,
            color_scheme=scheme,
            timezone_id=_ZONE,
            ignore_https_errors=True,
        )
        page.goto(link(port, **wish))
        opened.append(page)
    return Phones(*opened)


def arm(both: Phones) -> None:
    for page in (both.day, both.night):
        page.get_by_role("button", name="Tap to hear calls").click()
        page.get_by_role("button", name="Yes", exact=True).click()


def take_before(browser: Browser, folder: Path) -> None:
    port = free_pair()
    with demo(0.5, port):  # slow, so that the steaks are not on yet when the pages are open
        cook = phones(browser, port, role="cook")
        arm(cook)
        cook.day.wait_for_timeout(1500)
        cook.picture(folder, "before")


def take_others(browser: Browser, folder: Path) -> None:
    port = free_pair()
    with demo(6, port):
        cook = phones(browser, port, role="cook")
        arm(cook)
        watcher = phones(browser, port, role="watcher")
        expect(cook.day.locator("#slot")).to_contain_text("pull in about 40", timeout=240000)
        cook.picture(folder, "cooking")
        watcher.picture(folder, "watcher")
        expect(cook.day.locator("#slot")).to_contain_text(_NOW, timeout=60000)
        cook.picture(folder, "pull")
        expect(cook.day.locator(".lane1 .phase")).to_have_text("resting", timeout=120000)
        cook.day.wait_for_timeout(12000)
        cook.picture(folder, "rest")
        take_afterwards(cook, folder, port)


def take_afterwards(cook: Phones, folder: Path, port: int) -> None:
    """The report and the replay of the cook that was just handed in."""
    expect(cook.day.locator(".lane1 .phase")).to_have_text("handed in", timeout=240000)
    row = httpx.get(f"http://127.0.0.1:{port + 1}/api/v1/cooks").json()[-1]["cook"]
    for page in (cook.day, cook.night):
        page.goto(f"https://{NAME}:{port}/api/v1/cooks/{row}/report?unit=F", timeout=90000)
    cook.picture(folder, "report")
    for page in (cook.day, cook.night):
        page.goto(f"https://{NAME}:{port}/#replay={row}&from=logbook&t=520")
        expect(page.locator("#board .digits").first).to_be_visible(timeout=60000)
    cook.day.wait_for_timeout(3000)
    cook.picture(folder, "replay")


def take_board(browser: Browser, folder: Path) -> None:
    port = free_pair()
    with demo(6, port, "--sites", "12"):
        opened = [
            browser.new_page(viewport=SIZE, device_scale_factor=1.5, color_scheme=scheme)
            for scheme in ("light", "dark")
        ]
        for page in opened:
            page.goto(f"http://127.0.0.1:{port + 1}/")
            expect(page.get_by_role("status").first).to_contain_text("need", timeout=60000)
            expect(page.locator("a.sitelink")).to_have_count(12, timeout=60000)
        opened[0].wait_for_timeout(3000)
        Phones(*opened).picture(folder, "board")


def main(folder: Path) -> None:
    """Take all of them."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path="/usr/bin/chromium", args=[*ARGS, _MAP]
        )
        take_before(browser, folder)
        take_others(browser, folder)
        take_board(browser, folder)
        browser.close()


if __name__ == "__main__":
    main(Path(sys.argv[1]))
