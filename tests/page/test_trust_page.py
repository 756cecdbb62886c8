"""The page about the certificate can be read and used on the smallest phone, day and night."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from ipaddress import ip_address
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from pullcall.api.trust import create_trust_app
from tests.page.visit import serve_app

pytestmark = pytest.mark.integration

SIZES = [(320, 568), (390, 844), (844, 390)]
PRINT = " ".join(f"{group:04X}" for group in range(0xA000, 0xA010))
ANDROID = "Mozilla/5.0 (Linux; Android 14; K) AppleWebKit/537.36 Chrome/130.0.0.0 Mobile"

#: The lowest contrast of any text with what is behind it. Source: WCAG 2.2, contrast ratio.
CONTRAST = """() => {
  const parts = (text) => text.match(/[\\d.]+/g).map(Number);
  const luminance = ([r, g, b]) => [r, g, b]
    .map((c) => c / 255).map((c) => (c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4))
    .reduce((sum, c, i) => sum + c * [0.2126, 0.7152, 0.0722][i], 0);
  const behind = (element) => {
    const colour = parts(getComputedStyle(element).backgroundColor);
    return colour.length === 4 && colour[3] === 0 ? behind(element.parentElement) : colour;
  };
  const ratios = [];
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    if (!walker.currentNode.data.trim()) continue;
    const element = walker.currentNode.parentElement;
    const two = [parts(getComputedStyle(element).color), behind(element)].map(luminance);
    ratios.push([(Math.max(...two) + 0.05) / (Math.min(...two) + 0.05), element.outerHTML]);
  }
  return ratios.sort((a, b) => a[0] - b[0])[0];
}"""


class Certificate:
    fingerprint = PRINT
    authority_der = b"\x30\x00"


@pytest.fixture(scope="module")
def address() -> Iterator[str]:
    app = create_trust_app(
        Certificate(),
        ("pullcall.local",),
        8317,
        lambda: 0.0,
        lambda: (ip_address("192.168.1.20"),),
    )
    port, stop = serve_app(app)
    yield f"http://127.0.0.1:{port}/"
    stop()


@pytest.fixture
def show(browser: Browser, address: str) -> Iterator[Callable[..., Page]]:
    contexts = []

    def open_page(size: tuple[int, int] = SIZES[0], scheme: Any = "light") -> Page:
        context = browser.new_context(
            viewport={"width": size[0], "height": size[1]}, color_scheme=scheme, user_agent=ANDROID
        )
        contexts.append(context)
        page = context.new_page()
        page.on("console", lambda message: complaints.append(message.text))
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.goto(address)
        return page

    complaints: list[str] = []
    yield open_page
    for context in contexts:
        context.close()
    assert complaints == []


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("size", SIZES)
def test_everything_can_be_read(
    show: Callable[..., Page], size: tuple[int, int], scheme: str
) -> None:
    page = show(size, scheme)
    page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
    lowest, where = page.evaluate(CONTRAST)
    assert lowest >= 7, where
    assert page.evaluate("document.documentElement.scrollWidth") == size[0]
    assert page.evaluate(
        "[...document.querySelectorAll('main *')].every((e) => e.scrollWidth <= e.clientWidth + 1"
        " || getComputedStyle(e).display === 'inline')"
    )
    page.evaluate("window.scrollTo(0, document.body.scrollHeight)")
    assert page.evaluate("window.scrollY") > 0  # the product's other pages do not scroll


def test_night_is_dark_and_day_is_light(show: Callable[..., Page]) -> None:
    ground = "parseInt(getComputedStyle(document.body).backgroundColor.match(/\\d+/)[0])"
    assert show(scheme="light").evaluate(ground) > 200
    assert show(scheme="dark").evaluate(ground) < 50


@pytest.mark.parametrize("size", SIZES)
def test_what_is_tapped_is_large(show: Callable[..., Page], size: tuple[int, int]) -> None:
    page = show(size)
    targets = page.locator("a, summary").all()
    assert len(targets) == 7
    for target in targets:
        box = target.bounding_box()
        assert box is not None
        assert box["height"] >= 72
        assert box["width"] >= 72


def test_the_fingerprint_stands_in_four_lines_of_four_groups(show: Callable[..., Page]) -> None:
    page = show()
    lines = page.locator(".print").evaluate(
        """(element) => {
          const text = element.firstChild, range = document.createRange(), lines = {};
          for (const { index, 0: group } of text.data.matchAll(/\\S+/g)) {
            range.setStart(text, index);
            range.setEnd(text, index + 4);
            (lines[Math.round(range.getBoundingClientRect().top)] ??= []).push(group);
          }
          return Object.values(lines).map((line) => line.length);
        }"""
    )
    assert page.locator(".print").inner_text().split() == PRINT.split()
    assert lines == [4, 4, 4, 4]


def test_the_lists_are_opened_with_the_keyboard_too(show: Callable[..., Page]) -> None:
    page = show()
    assert page.locator("details[open] summary").all_inner_texts() == ["Android"]
    page.get_by_text("macOS", exact=True).focus()
    page.keyboard.press("Enter")
    assert page.get_by_text("Keychain Access adds it").is_visible()


def test_the_certificate_is_handed_over_as_a_file(show: Callable[..., Page]) -> None:
    page = show()
    with page.expect_download() as download:
        page.get_by_role("link", name="Get the certificate").click()
    assert download.value.suggested_filename == "authority.crt"
    assert download.value.path().read_bytes() == Certificate.authority_der


def test_the_way_in_is_by_the_address_that_was_opened(show: Callable[..., Page]) -> None:
    link = show().get_by_role("link", name="Open Pullcall")
    assert link.get_attribute("href") == "https://127.0.0.1:8317/"
