"""Phones of a cook and of a rival, in a real browser, over the network's own name and TLS.

The browser trusts the site's authority as a phone does that followed the page about it: through a
certificate store of its own, in a private home folder. ``http://127.0.0.1`` would count as secure
without any of this, so nothing here uses it.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import httpx
import pytest
from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding
from playwright.sync_api import Browser, Page, expect, sync_playwright

from tests.integration.daemon import free_pair
from tests.page.visit import ARGS
from tests.tools import require_tool

pytestmark = [
    pytest.mark.integration,
    pytest.mark.xdist_group("phone over tls"),
    pytest.mark.timeout(300),
]

NAME = "pullcall.local"
SPEED = 6


@dataclass
class Place:
    """A demo that serves phones, and a browser that trusts it."""

    port: int
    browser: Browser
    complaints: list[str] = field(default_factory=list)
    hosts: set[str] = field(default_factory=set)

    @property
    def plain(self) -> str:
        return f"http://127.0.0.1:{self.port + 1}"

    def link(self, **wish: object) -> str:
        """A new link by the announced name."""
        invited = httpx.post(f"{self.plain}/api/v1/invitations", json=wish).json()
        return f"https://{NAME}:{self.port}/#{invited['links'][0].split('#')[1]}"

    def code(self, **wish: object) -> str:
        return str(httpx.post(f"{self.plain}/api/v1/invitations", json=wish).json()["code"])

    def phone(self, address: str = "", width: int = 390, height: int = 844) -> Page:
        """A phone of its own (its cookies are nobody else's), at an address of the site."""
        context = self.browser.new_context(
            viewport={"width": width, "height": height}, has_touch=True
        )
        page = context.new_page()
        page.on("console", lambda m: self.complaints.append(m.text) if m.type == "error" else None)
        page.on("pageerror", lambda error: self.complaints.append(str(error)))
        page.on("request", lambda asked: self.hosts.add(asked.url.split("/")[2]))
        page.goto(address or f"https://{NAME}:{self.port}/")
        return page

    def cook(self) -> Page:
        page = self.phone(self.link(role="cook"))
        page.get_by_role("button", name="Tap to hear calls").click()
        page.get_by_role("button", name="Yes", exact=True).click()
        return page


@pytest.fixture(scope="module")
def port(tmp_path_factory: pytest.TempPathFactory) -> Iterator[int]:
    port = free_pair()
    state = str(tmp_path_factory.mktemp("state"))
    command = [sys.executable, "-m", "pullcall", "demo", "--host", "0.0.0.0"]
    command += ["--port", str(port), "--speed", str(SPEED)]
    environment = {"PYTHONUNBUFFERED": "1", "XDG_STATE_HOME": state, "XDG_CONFIG_HOME": state}
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, text=True, env=os.environ | environment
    ) as process:
        assert process.stdout
        assert any("Ctrl-C" in line for line in process.stdout), "the demo did not start"
        yield port
        process.terminate()
        process.wait(20)


@pytest.fixture(scope="module")
def home(port: int, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A home folder whose browser trusts the authority that the site hands out."""
    certutil = require_tool("certutil", "libnss3-tools")
    home = tmp_path_factory.mktemp("home")
    answer = httpx.get(f"http://127.0.0.1:{port + 1}/authority.crt", headers={"Host": NAME})
    authority = x509.load_der_x509_certificate(answer.content)
    file = home / "authority.pem"
    file.write_bytes(authority.public_bytes(Encoding.PEM))
    store = home / ".pki" / "nssdb"
    store.mkdir(parents=True)
    for arguments in (
        ("-N", "--empty-password"),
        ("-A", "-t", "C,,", "-n", "the site", "-i", str(file)),
    ):
        subprocess.run([certutil, "-d", f"sql:{store}", *arguments], check=True)
    return home


@pytest.fixture
def place(port: int, home: Path) -> Iterator[Place]:
    chromium = require_tool("chromium", "chromium")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=chromium,
            args=[*ARGS, f"--host-resolver-rules=MAP {NAME} 127.0.0.1"],
            env={**os.environ, "HOME": str(home)},
        )
        place = Place(port, browser)
        yield place
        browser.close()
    assert place.hosts == {f"{NAME}:{port}"}, "the page asks nobody else"


def answer_of(page: Page, method: str, path: str, body: str = "null") -> int:
    """The status of a request that the page's own script makes, with its cookie."""
    script = """async ([method, path, body]) => (await fetch(path, {
        method, body: body === "null" ? undefined : body,
        headers: { "content-type": "application/json" } })).status"""
    status: int = page.evaluate(script, [method, f"/api/v1/{path}", body])
    return status


def test_a_cooks_phone_is_paired_by_its_link_and_cooks(place: Place) -> None:
    page = place.cook()
    assert page.url == f"https://{NAME}:{place.port}/", "the secret is gone from the address"
    assert page.evaluate("isSecureContext")
    assert page.evaluate("'wakeLock' in navigator")
    left = page.get_by_role("region", name="Left", exact=True)
    expect(left.locator(".digits")).not_to_have_text("–")
    left.get_by_role("button", name="Left: more marks").click()
    page.get_by_role("button", name="Baste").click()
    expect(page.locator("#slot")).to_contain_text("Left: baste")
    page.get_by_role("button", name="Undo", exact=True).click()
    expect(page.locator("#slot")).to_contain_text("Taken back")
    left.get_by_role("button", name="Left: enter a spot temperature").click()
    page.get_by_role("button", name="Take this spot").click()
    expect(page.locator("#slot")).to_contain_text(re.compile("Left: spot"))
    assert place.complaints == []


def test_a_phone_is_paired_by_the_digits_of_a_code(place: Place) -> None:
    page = place.phone()
    expect(page.get_by_role("heading", name="This phone is not paired")).to_be_visible()
    for digit in place.code(role="hand"):
        page.get_by_role("button", name=digit, exact=True).click()
    page.get_by_role("button", name="Pair", exact=True).click()
    expect(page.get_by_role("region", name="Left", exact=True)).to_be_visible()
    assert answer_of(page, "POST", "marks", '{"mark": "lid_open"}') == 201
    assert answer_of(page, "POST", "cooks", "{}") == 403


def test_a_stranger_sees_nothing_and_can_do_nothing(place: Place) -> None:
    page = place.phone()
    expect(page.get_by_role("heading", name="This phone is not paired")).to_be_visible()
    for method, path, body in (
        ("GET", "snapshot", "null"),
        ("GET", "events", "null"),
        ("POST", "tickets", "null"),
        ("POST", "marks", '{"mark": "lid_open"}'),
        ("POST", "acknowledgements", '{"call": "c1"}'),
    ):
        assert answer_of(page, method, path, body) == 401, path
    opened = page.evaluate(
        """() => new Promise((done) => {
            const socket = new WebSocket(`wss://${location.host}/api/v1/stream`, ["pullcall.1"]);
            socket.onopen = () => done(true);
            socket.onclose = () => done(false);
        })"""
    )
    assert opened is False
    expect(page.locator("#board")).not_to_contain_text("°")


def test_a_watcher_follows_and_can_neither_mark_nor_answer(place: Place) -> None:
    page = place.phone(place.link(role="watcher"))
    left = page.get_by_role("region", name="Left", exact=True)
    expect(left.locator(".core")).to_contain_text("°F")
    expect(left.get_by_role("button", name="Spot")).to_have_count(0)
    assert answer_of(page, "POST", "marks", '{"mark": "lid_open"}') == 403
    assert answer_of(page, "POST", "acknowledgements", '{"call": "c1"}') == 403
    assert answer_of(page, "PATCH", "steaks/left", '{"pull_c": 60}') == 403
    # Over the websocket nothing is taken but pings: a mark sent there changes nothing.
    marks = page.evaluate(
        """async () => {
            const { ticket } = await (await fetch("/api/v1/tickets", { method: "POST" })).json();
            const socket = new WebSocket(`wss://${location.host}/api/v1/stream`,
                ["pullcall.1", `ticket.${ticket}`]);
            await new Promise((done) => { socket.onopen = done; });
            socket.send(JSON.stringify({ type: "mark", mark: "boxed", steak: "left" }));
            socket.send(JSON.stringify({ type: "ping", n: 1 }));
            await new Promise((done) => { socket.onmessage = ({ data }) => {
                if (JSON.parse(data).type === "pong") done(); }; });
            return (await (await fetch("/api/v1/snapshot")).json()).marks.map(({ mark }) => mark);
        }"""
    )
    assert "boxed" not in marks


def test_a_revoked_phone_is_shut_out_while_it_watches(place: Place) -> None:
    page = place.phone(place.link(role="watcher", label="rivals"))
    expect(page.get_by_role("region", name="Left", exact=True)).to_be_visible()
    with httpx.Client(base_url=f"{place.plain}/api/v1/") as here:
        found = next(one for one in here.get("invitations").json() if one["label"] == "rivals")
        assert here.delete(f"invitations/{found['id']}").status_code == 204
    expect(page.get_by_role("heading", name="This phone is not paired")).to_be_visible()
    expect(page.get_by_text("revoked or has expired")).to_be_visible()


def test_a_phone_that_slept_a_minute_knows_everything_at_once(place: Place) -> None:
    """A frozen page runs no timer and reads no socket, as behind a locked screen."""
    page = place.phone(place.link(role="cook"))
    expect(page.get_by_role("region", name="Left", exact=True)).to_be_visible()
    session = page.context.new_cdp_session(page)
    session.send("Page.setWebLifecycleState", {"state": "frozen"})
    with httpx.Client(base_url=f"{place.plain}/api/v1/") as here:
        assert here.post("marks", json={"mark": "lid_open"}).status_code == 201
        end = here.get("snapshot").json()["t"] + 60 * SPEED
        while here.get("snapshot").json()["t"] < end:
            page.wait_for_timeout(2000)
    session.send("Page.setWebLifecycleState", {"state": "active"})
    expect(page.locator("#notice")).not_to_contain_text("Link lost", timeout=10000)
    page.get_by_role("button", name="Last marks, with undo").click()
    expect(page.get_by_role("dialog")).to_contain_text(re.compile("lid", re.IGNORECASE))


def test_a_trusted_page_is_installed_and_opens_without_a_link(place: Place) -> None:
    page = place.phone(place.link(role="cook"))
    expect(page.get_by_role("region", name="Left", exact=True)).to_be_visible()
    page.evaluate("navigator.serviceWorker.ready.then(() => true)")
    page.reload()
    expect(page.get_by_role("region", name="Left", exact=True)).to_be_visible()
    page.wait_for_function("navigator.serviceWorker.controller !== null")
    page.context.set_offline(True)
    page.reload()
    expect(page.locator("#notice")).to_contain_text("Looking for the site")
    page.context.set_offline(False)
    expect(page.get_by_role("region", name="Left", exact=True)).to_be_visible(timeout=15000)


@pytest.mark.parametrize(("width", "height"), [(320, 568), (568, 320), (844, 390)])
def test_nothing_scrolls_while_meat_is_on(place: Place, width: int, height: int) -> None:
    page = place.phone(place.link(role="cook"), width, height)
    expect(page.get_by_role("region", name="Left", exact=True)).to_be_visible()
    beyond = page.evaluate(
        """[...document.querySelectorAll("#slot, #board, #foot, #board button, #foot button")]
            .filter((node) => node.offsetParent !== null)
            .map((node) => [node.className || node.id, node.getBoundingClientRect()])
            .filter(([, box]) => box.bottom > innerHeight + 1 || box.right > innerWidth + 1)
            .map(([name]) => name)"""
    )
    assert beyond == []
    assert page.evaluate("document.scrollingElement.scrollHeight <= innerHeight")
