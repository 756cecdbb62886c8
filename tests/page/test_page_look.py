"""How the page looks and sounds: no scroll, large keys, contrast, tones, weight."""

from __future__ import annotations

from typing import Any

import pytest
from playwright.sync_api import Page, expect

from tests.chart_library import require_chart_library
from tests.page.patience import holds
from tests.page.visit import PHONE, Open

pytestmark = pytest.mark.integration

SIZES = [PHONE, (320, 568), (844, 390), (568, 320)]


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("at", [80, 5, 121], ids=["turn soon", "turn in minutes", "late"])
def test_cooking_needs_no_scroll_and_every_key_takes_a_knuckle(
    visit: Open, size: tuple[int, int], at: float
) -> None:
    seen = visit(size, at=at, mode="demo")
    seen.arm()
    expect(seen.slot()).to_contain_text("Both: quarter-turn")

    def all_is_whole() -> None:
        for part in ("html", "#board", ".lane .face", ".lane .head", "#slot"):
            for one in seen.page.locator(part).all():
                assert one.evaluate("(e) => e.scrollHeight - e.clientHeight") <= 1, part
        for one in seen.page.locator(".digits, .core").all():
            assert one.evaluate("(e) => e.scrollWidth - e.clientWidth") <= 0, one.inner_text()
        beyond = seen.page.evaluate(
            "[...document.querySelectorAll('button, .digits, .core, .pull')]"
            ".map((e) => e.getBoundingClientRect())"
            ".filter((r) => r.width && (r.right > innerWidth || r.bottom > innerHeight)).length"
        )
        assert beyond == 0
        for one in seen.page.get_by_role("button").all():
            box = one.bounding_box()
            assert box and box["width"] >= 72 and box["height"] >= 72, one.inner_text()

    holds(seen.page, all_is_whole)


def _luminance(colour: str) -> float:
    """Relative luminance of "#rrggbb". Source: WCAG 2.2, definition of relative luminance."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def _contrast(one: str, other: str) -> float:
    high, low = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize("theme", ["day", "night"])
def test_text_has_a_contrast_of_seven_to_one(visit: Open, theme: str) -> None:
    # WCAG 2.2 success criterion 1.4.6 (enhanced): at least 7:1.
    assert _contrast("#000000", "#ffffff") == pytest.approx(21)
    seen = visit(at=80)
    seen.page.evaluate(
        "(theme) => document.documentElement.setAttribute('data-theme', theme)", theme
    )
    pairs = [
        *(("ink", back) for back in ("paper", "panel", "key")),
        *(("soft", back) for back in ("paper", "panel")),
        *((lane, back) for lane in ("first", "second") for back in ("paper", "onlane")),
        ("flagink", "flag"),
        ("onhead", "head"),
    ]
    read = (
        "(name) => getComputedStyle(document.documentElement).getPropertyValue('--' + name).trim()"
    )
    for front, back in pairs:
        colours = seen.page.evaluate(read, front), seen.page.evaluate(read, back)
        assert _contrast(*colours) >= 7, (front, back)


def test_tones_tell_the_steaks_apart_and_lie_where_alarm_tones_should(visit: Open) -> None:
    seen = visit(at=520)
    seen.arm()
    made = seen.site.call("pull_now", ["left"], "Left: pull now")
    seen.until("window.heardCalls.some((c) => c.call === 'pull_now' && c.audible)")
    left = set(seen.page.evaluate("window.tones.slice(-5)"))
    seen.site.set_state(made["id"], "acknowledged")  # or both would sound together again
    seen.catch_up()
    seen.site.call("pull_now", ["right"], "Right: pull now")
    seen.until("window.heardCalls.some((c) => c.steaks[0] === 'right' && c.audible)")
    right = set(seen.page.evaluate("window.tones.slice(-5)"))
    # 150-1000 Hz fundamental with at least four harmonics, and the first steak lower: inspired by
    # IEC 60601-1-8, of which only secondary texts were read.
    assert len(left) == len(right) == 1
    assert 150 <= min(left) < min(right) <= 1000
    strengths = seen.page.evaluate("window.harmonics")
    assert sum(strength > 0 for strength in strengths[1:]) >= 5


def test_the_whole_page_travels_in_less_than_150_kilobytes(visit: Open) -> None:
    require_chart_library()
    asked: dict[str, str] = {}
    received: list[float] = []

    def finished(told: dict[str, Any]) -> None:
        # What the site is asked for over and over is no part of the page.
        if "/api/" not in asked.get(told["requestId"], "/api/"):
            received.append(told["encodedDataLength"])

    def watch(page: Page) -> None:
        cdp = page.context.new_cdp_session(page)
        cdp.on(
            "Network.requestWillBeSent",
            lambda t: asked.update({t["requestId"]: t["request"]["url"]}),
        )
        cdp.on("Network.loadingFinished", finished)
        cdp.send("Network.enable")

    seen = visit(at=300, has_charts=True, before=watch)
    seen.until("document.querySelectorAll('.lane .curve canvas').length === 2")
    assert len(received) > 20
    assert 20_000 < sum(received) < 150_000
