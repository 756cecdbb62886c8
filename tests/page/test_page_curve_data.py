"""What a chart is made of, worked out by the page's own modules without drawing anything."""

from __future__ import annotations

import itertools
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from tests.page.modules import page_of_modules

pytestmark = pytest.mark.integration

STEAK: dict[str, Any] = {
    "steak": "left", "phase": "on", "on_t": 0.0, "off_t": None, "pull_c": 54.0, "shift_c": 0.0,
    "target_c": None, "curve": [[t, 5.0 + 0.1 * t] for t in range(0, 302, 2)],
}  # fmt: skip
FORECAST: dict[str, Any] = {
    "t": 300.0, "core_c": 35.0, "pull_in_s": {"p10": 150.0, "p50": 190.0, "p90": 260.0},
    "peak_c": {"p10": 56.0, "p50": 57.5, "p90": 59.0},
}  # fmt: skip


@pytest.fixture(scope="module")
def page(browser: Browser) -> Page:
    """A page that has the modules, and nothing of the site."""
    return page_of_modules(browser)


def _call(page: Page, module: str, name: str, *given: Any) -> Any:
    return page.evaluate(
        "async ([module, name, given]) => (await import(`/${module}`))[name](...given)",
        [module, name, list(given)],
    )


def _chart(page: Page, t: float = 300.0, spots: Any = (), marks: Any = (), **steak: Any) -> Any:
    """The chart of one steak, and its lane."""
    chart = page.evaluate(
        """async ([steak, marks, spots, t]) => {
          const { chartOf } = await import("/curve_data.js");
          return chartOf([steak], { marks, spots, laneOf: () => 0 }, t, 200);
        }""",
        [{**STEAK, "forecast": FORECAST, **steak}, list(marks), list(spots), t],
    )
    return chart, chart["lanes"][0]


def _at(fan: list[dict[str, float]], t: float) -> dict[str, float]:
    return next(one for one in fan if abs(one["t"] - t) < 1e-6)


def test_the_fan_begins_at_the_core_and_meets_the_pull_early_likely_and_late(page: Page) -> None:
    _, lane = _chart(page)
    fan = lane["fan"]
    assert fan[0] == {"t": 300, "low": 35, "middle": 35, "high": 35}
    assert _at(fan, 450)["high"] == pytest.approx(54)
    assert _at(fan, 490)["middle"] == pytest.approx(54)
    assert _at(fan, 560)["low"] == pytest.approx(54)
    assert all(one["low"] <= one["middle"] <= one["high"] for one in fan)
    assert all(before["t"] < after["t"] for before, after in itertools.pairwise(fan))


def test_the_fan_climbs_from_the_pull_to_the_peak(page: Page) -> None:
    chart, lane = _chart(page)
    last, peak = lane["fan"][-1], lane["peak"]
    assert (last["low"], last["middle"], last["high"]) == pytest.approx((56, 57.5, 59))
    assert peak["t"] > 490, "the climb begins at the likely pull"
    assert _at(lane["fan"], peak["t"])["middle"] == pytest.approx(57.5)
    assert chart["to"] >= last["t"]
    assert chart["high"] > 59


def test_while_it_rests_the_fan_ends_at_the_forecast_peak(page: Page) -> None:
    resting = {**FORECAST, "core_c": 55.0, "pull_in_s": None, "peak_in_s": 90.0}
    _, lane = _chart(page, phase="resting", off_t=280.0, forecast=resting)
    assert lane["fan"][0]["middle"] == 55
    assert lane["fan"][-1] == pytest.approx({"t": 390, "low": 56, "middle": 57.5, "high": 59})
    assert lane["peak"]["t"] == 390
    past = {**resting, "peak_in_s": 0.0}
    assert _chart(page, phase="resting", off_t=280.0, forecast=past)[1]["fan"] == []


def test_a_late_edge_far_beyond_the_likely_pull_is_cut_off_at_the_chart(page: Page) -> None:
    wide = {**FORECAST, "pull_in_s": {"p10": 150.0, "p50": 190.0, "p90": 3600.0}}
    chart, lane = _chart(page, forecast=wide)
    assert chart["to"] < 300 + 2 * 190 + 300
    assert lane["fan"][-1]["t"] == chart["to"]
    assert lane["fan"][-1]["low"] < 54 < lane["fan"][-1]["high"]


def test_without_a_forecast_there_is_no_fan_and_the_curve_stays(page: Page) -> None:
    none = {**FORECAST, "pull_in_s": None, "peak_c": None}
    chart, lane = _chart(page, forecast=none)
    assert (lane["fan"], lane["peak"], lane["now"]) == ([], None, None)
    assert len(lane["trace"]) == len(STEAK["curve"])
    assert chart["low"] < 5 < 54 < chart["high"]


def test_a_phone_that_is_told_no_pull_is_drawn_none(page: Page) -> None:
    # What a late watcher gets: no pull, no target, no forecast. JSON has no "undefined".
    chart = page.evaluate(
        """async (steak) => {
          const { chartOf } = await import("/curve_data.js");
          const { ground, scaleOf } = await import("/curve_layout.js");
          delete steak.pull_c; delete steak.shift_c; delete steak.target_c;
          const board = { marks: [], spots: [], laneOf: () => 0 };
          const chart = chartOf([{ ...steak, forecast: null }], board, 300, 200);
          const roles = ground(chart, scaleOf(chart, 180, 150, false), {}).map((one) => one.role);
          return { high: chart.high, pull_c: chart.lanes[0].pull_c, roles };
        }""",
        STEAK,
    )
    assert chart["pull_c"] is None
    assert chart["high"] == 40, "the curve ends at 35 C: nothing higher may shape the chart"
    assert not any("pull" in role for role in chart["roles"])


def test_only_what_was_done_to_the_steak_is_marked_in_the_order_it_happened(page: Page) -> None:
    marks = [
        {"mark": "turn", "t": 130.0, "at": 120.0, "steak": "left"},
        {"mark": "on", "t": 0.0, "at": 0.0, "steak": None},
        {"mark": "lid_open", "t": 60.0, "at": 60.0, "steak": None},
        {"mark": "lit", "t": 70.0, "at": 70.0, "steak": None},
        {"mark": "flip", "t": 100.0, "at": 100.0, "steak": "right"},
    ]
    _, lane = _chart(page, marks=marks)
    assert [(one["mark"], one["t"]) for one in lane["marks"]] == [("on", 0), ("turn", 120)]


def test_thinning_keeps_a_slip_of_one_reading_and_the_last_one(page: Page) -> None:
    points = [[float(t), 50.0] for t in range(900)]
    points[400][1] = 44.0
    kept = _call(page, "curve_data.js", "thinned", points, 0, 900, 60)
    assert len(kept) <= 2 * 60 + 1
    assert [400.0, 44.0] in kept
    assert kept[-1] == points[-1]
    assert kept == sorted(kept)


def test_words_at_the_foot_take_the_second_row_rather_than_touch(page: Page) -> None:
    marks = [{"mark": mark, "t": t, "at": t, "steak": "left"} for mark, t in
             (("on", 0.0), ("turn", 120.0), ("flip", 140.0), ("turn", 160.0))]  # fmt: skip
    words = page.evaluate(
        """async ([steak, marks]) => {
          const { chartOf } = await import("/curve_data.js");
          const { ground, scaleOf } = await import("/curve_layout.js");
          const chart = chartOf([steak], { marks, spots: [], laneOf: () => 0 }, 300, 200);
          const unit = { degrees: String };
          return ground(chart, scaleOf(chart, 180, 250, false), unit)
            .filter((one) => one.role === "markword").map(({ words, x, y }) => ({ words, x, y }));
        }""",
        [{**STEAK, "forecast": FORECAST}, marks],
    )
    assert [one["words"] for one in words][:3] == ["on", "turn", "flip"]
    assert len({one["y"] for one in words}) == 2


DRAWS = """async ([steps, size]) => {
  const { Chart } = await import("/chart.js");
  let ms = 10_000;
  performance.now = () => ms;
  const charts = [0, 1].map(() => new Chart("test"));
  const drawn = [];
  charts.forEach((chart, i) => {
    chart.size = size;
    chart.engine.draw = () => drawn.push([ms - 10_000, i]);
  });
  const board = { marks: [], spots: [], laneOf: () => 0 };
  const steak = (t) => ({ steak: "left", phase: "on", on_t: 0, pull_c: 54, shift_c: 0,
    curve: [[0, 5], [t, 5 + t / 10]], forecast: null });
  for (const { at, t, spot } of steps) {
    ms = 10_000 + at;
    if (spot) board.spots = [...board.spots, { steak: "left", t, celsius: 20 }];
    for (const chart of charts) chart.paint([steak(t)], board, { name: "F" }, t);
  }
  return drawn;
}"""


def _draws(page: Page, steps: list[dict[str, Any]]) -> list[tuple[float, int]]:
    """(milliseconds, which of two charts) of each drawing."""
    drawn = page.evaluate(DRAWS, [steps, {"width": 180, "height": 150}])
    return [(at, chart) for at, chart in drawn]


def test_a_curve_is_drawn_once_a_second_and_never_two_in_one_beat(page: Page) -> None:
    # Twenty times life: every beat of 200 ms is four seconds of the cook.
    drawn = _draws(page, [{"at": 200 * k, "t": 100 + 4 * k} for k in range(51)])
    first, rest = drawn[:2], drawn[2:]
    assert [at for at, _ in first] == [0, 0], "both are shown at once"
    assert len({at for at, _ in rest}) == len(rest)
    for chart in (0, 1):
        times = [at for at, one in drawn if one == chart]
        assert all(after - before >= 1000 for before, after in itertools.pairwise(times))
        assert len(times) >= 8


def test_what_would_move_by_less_than_a_pixel_is_not_drawn(page: Page) -> None:
    drawn = _draws(page, [{"at": 200 * k, "t": 300 + 0.2 * k} for k in range(51)])
    # Ten seconds in a chart of six minutes and 166 pixels: about five pixels.
    assert 3 <= len([at for at, chart in drawn if chart == 0]) <= 7


def test_a_spot_is_drawn_at_once(page: Page) -> None:
    drawn = _draws(page, [{"at": 0, "t": 300}, {"at": 200, "t": 300.2, "spot": True}])
    assert [at for at, _ in drawn] == [0, 0, 200, 200]


def test_a_table_that_is_read_out_changes_every_ten_seconds_at_most(page: Page) -> None:
    rows = page.evaluate(
        """async () => {
          const { CurveTable } = await import("/curve_table.js");
          const { Unit } = await import("/units.js");
          let ms = 10_000;
          performance.now = () => ms;
          const unit = new Unit({ get: () => "F", set: () => {} });
          const table = new CurveTable("left");
          const steak = { steak: "left", phase: "on", on_t: 0, curve: [[0, 5]], forecast: null };
          const count = (at) => {
            ms = 10_000 + at;
            steak.curve.push([at / 100, 6]); // ten times life
            table.paint(steak, { marks: [], spots: [] }, unit);
            return table.node.querySelectorAll("tbody tr:not([hidden])").length;
          };
          return [0, 3000, 6000, 9900, 10_000, 12_000, 19_900, 20_000].map(count);
        }"""
    )
    first, later, last = rows[0], rows[4], rows[7]
    assert rows == [first] * 4 + [later] * 3 + [last]
    assert first < later < last
