"""The curves of the lanes and the large one: both engines, their table, day and night."""

from __future__ import annotations

import re

import numpy as np
import pytest
from playwright.sync_api import Browser, Locator, expect

from tests.chart_library import require_chart_library
from tests.page.patience import becomes, holds, pass_time
from tests.page.pixels import Pixels, count_near, pixels
from tests.page.visit import PHONE, Open, Visit
from tests.recorded import short_recording

pytestmark = pytest.mark.integration

SMALL = (320, 568)
LYING = (844, 390)
#: The left lane's colour by day and by night, and the ink of the pull line (style.css).
DAY, NIGHT = "#1c2f96", "#a9bdff"
INK = {"day": "#14121a", "night": "#f6f3ea"}
#: With the chart library, and without it.
ENGINES = pytest.mark.parametrize("has_charts", [False, True], ids=["own SVG", "uPlot"])


def _open(visit: Open, has_charts: bool, **script: object) -> Visit:
    if has_charts:
        require_chart_library()
    return visit(has_charts=has_charts, **script)


def _curve(seen: Visit) -> Locator:
    """The left lane's curve, once it is drawn."""
    seen.until("document.querySelector('.lane0 .curve canvas, .lane0 .curve .nowdot') !== null")
    return seen.lane("Left").locator(".curve")


def _theme(seen: Visit, theme: str) -> None:
    seen.page.evaluate("(to) => document.documentElement.setAttribute('data-theme', to)", theme)
    pass_time(seen.page)


def _blue_ahead(picture: Pixels, share: float = 0.1) -> int:
    """Pixels tinted by the left lane in the right tenth, or another share, of a curve.

    The hatching is too fine for whole pixels of its colour; paper and ink are no bluer than red.
    """
    ahead = picture[:, round((1 - share) * picture.shape[1]) :]
    return int((ahead[:, :, 2] - ahead[:, :, 0] > 30).sum())


@ENGINES
def test_the_fan_is_drawn_where_the_core_should_go_and_only_if_it_is_known(
    visit: Open, browser: Browser, has_charts: bool
) -> None:
    seen = _open(visit, has_charts, at=300, spread=0.4)
    becomes(seen.page, lambda: _blue_ahead(pixels(browser, _curve(seen))) > 30, True)
    assert seen.complaints == []
    unknown = _open(visit, has_charts, at=300, why="Too few readings.")
    unknown.until("document.querySelector('.lane0 .curve canvas, .lane0 .curve .trace')")

    def only_the_measured_curve_is_drawn() -> None:
        picture = pixels(browser, unknown.lane("Left").locator(".curve"))
        assert _blue_ahead(picture) == 0
        assert count_near(picture, DAY) > 200

    holds(unknown.page, only_the_measured_curve_is_drawn)


@ENGINES
def test_a_fan_is_wider_the_less_is_known(visit: Open, browser: Browser, has_charts: bool) -> None:
    def inked(spread: float) -> int:
        seen = _open(visit, has_charts, at=300, spread=spread)
        becomes(seen.page, lambda: _blue_ahead(pixels(browser, _curve(seen))) > 0, True)
        pass_time(seen.page, 1500)  # drawn once more, as large as it is by then
        return _blue_ahead(pixels(browser, _curve(seen)), share=0.5)

    assert inked(0.5) > 1.5 * inked(0.05)


def test_without_the_library_nothing_is_asked_for_and_the_page_draws_itself(visit: Open) -> None:
    asked: list[str] = []
    seen = visit(at=300, before=lambda page: page.on("request", lambda r: asked.append(r.url)))
    expect(seen.lane("Left").locator("svg.drawing .trace")).to_have_count(1)
    expect(seen.page.locator("canvas")).to_have_count(0)
    assert asked
    assert [url for url in asked if "vendor" in url] == []
    assert seen.complaints == []


def test_with_the_library_it_draws_and_breaks_no_policy(visit: Open) -> None:
    seen = _open(visit, True, at=300)
    seen.until("document.querySelectorAll('.lane .curve canvas').length === 2")
    expect(seen.page.locator("svg.drawing")).to_have_count(0)
    assert seen.page.evaluate("typeof uPlot") == "function"
    assert seen.complaints == []


@ENGINES
def test_day_and_night_recolour_a_curve_that_stands_still(
    visit: Open, browser: Browser, has_charts: bool
) -> None:
    # A replay that pauses: no reading comes, only the theme changes.
    recordings = {"thin": short_recording()}
    seen = _open(visit, has_charts, path="/#replay=thin&t=190", recordings=recordings)
    seen.page.get_by_role("button", name="Pause").click()
    _curve(seen)
    for theme, drawn, gone in (("day", DAY, NIGHT), ("night", NIGHT, DAY), ("day", DAY, NIGHT)):
        _theme(seen, theme)
        ink = INK[theme]

        def it_is_recoloured(drawn: str = drawn, gone: str = gone, ink: str = ink) -> None:
            picture = pixels(browser, _curve(seen))
            assert count_near(picture, drawn) > 200
            assert count_near(picture, gone, within=12) == 0
            assert count_near(picture, ink) > 200

        holds(seen.page, it_is_recoloured)


DRAW = """async ({ large, fan, heights }) => {
  const here = document.querySelector("script[type=module]").src;
  const from = (file) => import(new URL(file, here).href);
  const { Curve } = await from("curve.js");
  const { CanvasCurve } = await from("canvas_curve.js");
  const { chartOf } = await from("curve_data.js");
  const { scaleOf } = await from("curve_layout.js");
  const { Board } = await from("state.js");
  const { Unit } = await from("units.js");
  const board = new Board();
  board.apply(await (await fetch("/api/v1/snapshot")).json());
  board.spots = [{ id: "s", t: 100, steak: "left", celsius: 22 }];
  const steaks = board.steaks.slice(0, large ? 2 : 1);
  for (const [i, steak] of steaks.entries()) {
    steak.forecast = { ...steak.forecast, t: 300, core_c: 36 - i,
      pull_in_s: fan ? { p10: 120, p50: 170 + 20 * i, p90: 260 } : null };
  }
  const unit = new Unit({ get: () => "F", set: () => {} });
  const chart = chartOf(steaks, board, 300, 100);
  const host = document.createElement("div");
  host.style.cssText = "position: fixed; inset: 0; z-index: 9; background: var(--paper)";
  host.replaceChildren(...[["svg", Curve], ["canvas", CanvasCurve]].map(([name, Engine]) => {
    const engine = new Engine();
    const node = document.createElement("div");
    node.className = large ? "curve large lane0" : "curve lane0";
    node.id = name;
    node.style.cssText = "width: 340px; box-sizing: content-box";
    node.append(engine.node);
    document.body.append(node);
    for (const height of heights) {
      queueMicrotask(() => engine.draw(chart, scaleOf(chart, 340, height, large), unit));
      node.style.height = `${height}px`;
    }
    return node;
  }));
  document.body.append(host);
}"""


def _drawn(seen: Visit, browser: Browser, engine: str) -> Pixels:
    return pixels(browser, seen.page.locator(f"#{engine}"))


@pytest.mark.parametrize("theme", ["day", "night"])
@pytest.mark.parametrize(
    ("large", "heights"),
    [(False, [260]), (True, [260]), (False, [260, 150])],
    ids=["in a lane", "both in large", "in a lane that was higher"],
)
def test_both_engines_draw_the_same_picture(
    visit: Open, browser: Browser, large: bool, heights: list[int], theme: str
) -> None:
    def unlike(one: Pixels, other: Pixels) -> float:
        return float(np.abs(one - other).mean())

    seen = _open(visit, True, at=300)
    _theme(seen, theme)
    seen.page.evaluate(DRAW, {"large": large, "fan": True, "heights": heights})
    svg, canvas = _drawn(seen, browser, "svg"), _drawn(seen, browser, "canvas")
    bare = _open(visit, True, at=300)
    _theme(bare, theme)
    bare.page.evaluate(DRAW, {"large": large, "fan": False, "heights": heights})
    # Edges are smoothed a little differently; a fan more or less would be far more than that.
    assert unlike(svg, canvas) < 0.25 * unlike(svg, _drawn(bare, browser, "svg"))
    assert unlike(svg, canvas) < 4


def test_the_table_of_a_lane_says_what_its_curve_shows(visit: Open) -> None:
    seen = visit(at=200)
    seen.site.take("turn", "left", 78)
    seen.site.spot({"id": "s1", "t": 130.0, "steak": "left", "celsius": 20.0})
    seen.page.reload()
    table = seen.page.get_by_role("table", name="Left: core temperature")
    expect(table.get_by_role("columnheader")).to_have_text(["Time", "Core", "Note"])
    expect(table.get_by_role("row", name="Spot")).to_have_count(1)
    rows = [re.sub(r"\s+", " ", text) for text in table.get_by_role("row").all_inner_texts()]
    # The fake core is 8 C + 0.095 C/s: 16.55 C at 90 s is 61.8 F by the definition F = 1.8 C + 32.
    assert "1:30 61.8 °F" in [row.strip() for row in rows]
    assert any(re.fullmatch(r"2:0\d 6[78]\.\d °F Turn", row) for row in rows)
    assert "2:10 68.0 °F Spot" in rows
    # 53.9 C is 129.0 F; at 200 s 26.9 C are missing, 283 s at that rise: 8:03, and the fake band
    # lies 10 % and a few seconds about it.
    ahead = [row for row in rows if re.search("Pull at|Pull most|forecast", row) and "°F" in row]
    assert [row.split(" ", 1)[1] for row in ahead] == [
        "129.0 °F Pull at the earliest: 1 in 10 is sooner",
        "129.0 °F Pull most likely",
        "129.0 °F Pull at the latest: 1 in 10 is later",
        *[row.split(" ", 1)[1] for row in ahead[3:]],
    ]
    assert re.fullmatch(r"about 1\d:\d\d 135.3 °F Peak forecast, 134 to 137", ahead[3])
    assert [row.split(":")[0] for row in ahead[:3]] == ["7", "8", "8"]
    assert len(ahead) == 4
    assert seen.complaints == []


@ENGINES
def test_a_tap_on_the_curve_opens_both_in_large_with_their_tables(
    visit: Open, has_charts: bool
) -> None:
    seen = _open(visit, has_charts, at=300)
    _curve(seen)
    seen.lane("Left").get_by_role("button", name="Left: curve and table").click()
    sheet = seen.page.get_by_role("dialog", name="Curve")
    expect(sheet.locator(".curve.large .drawing")).to_be_visible()
    for name in ("Left", "Right"):
        expect(sheet.get_by_role("table", name=f"{name}: core temperature")).to_be_visible()
        expect(sheet.locator(".curvekeyline", has_text=name)).to_contain_text(
            re.compile(r"Pull in \d.*Peak 135 °F \(134–137\)")
        )
    slot, panel = seen.slot().bounding_box(), sheet.bounding_box()
    assert slot and panel
    assert slot["y"] + slot["height"] <= panel["y"]
    seen.site.call("pull_now", ["left"], "Left: pull now")
    expect(seen.page.get_by_role("alert")).to_contain_text("Left: pull now")
    seen.page.get_by_role("button", name="Close").click()
    expect(sheet).to_have_count(0)
    assert seen.complaints == []


@ENGINES
@pytest.mark.parametrize("size", [SMALL, LYING])
def test_where_lanes_have_no_room_the_curve_is_one_panel_away(
    visit: Open, browser: Browser, size: tuple[int, int], has_charts: bool
) -> None:
    seen = _open(visit, has_charts, size=size, at=300)
    expect(seen.lane("Left").locator(".curve")).to_be_hidden()
    seen.lane("Left").get_by_role("button", name="more marks").click()
    seen.page.get_by_role("button", name="Curve and table").click()
    curve = seen.page.locator(".curve.large")
    seen.until("document.querySelector('.curve.large :is(canvas, .nowdot)') !== null")
    becomes(seen.page, lambda: count_near(pixels(browser, curve), DAY) > 200, True)
    sheet = seen.page.get_by_role("dialog", name="Curve")
    assert sheet.evaluate("(e) => e.scrollWidth - e.clientWidth") <= 0
    box = curve.bounding_box()
    assert box
    assert box["y"] + box["height"] <= size[1]
    assert seen.complaints == []


def test_the_key_over_a_curve_is_as_large_as_the_curve(visit: Open) -> None:
    seen = visit(PHONE, at=300)

    def it_is_as_large() -> None:
        key = seen.page.get_by_role("button", name="Right: curve and table").bounding_box()
        curve = seen.lane("Right").locator(".curve").bounding_box()
        assert key and curve
        assert min(key["width"], key["height"]) >= 72
        assert key["height"] >= curve["height"] - 2

    holds(seen.page, it_is_as_large)
