"""What the page costs a slow phone: bytes, time to the first live value, and work per update.

A phone of the middle class is taken to be four times slower than this machine, as is common. It
is loaded with Chromium slowed so far, over the loopback: times are the page's own and not some
Wi-Fi's. Work is four times the processor time of the main thread (script, style, layout, paint),
not the time on the wall, so that whatever else runs on this machine does not count.
"""

from __future__ import annotations

import asyncio
import itertools
import json
import math
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import numpy as np
from playwright.sync_api import Browser, CDPSession, Page, sync_playwright

from tests.page.fake_site import PULL_C, Site
from tests.page.visit import ARGS, PHONE, serve
from tests.tools import require_tool

SLOWER = 4
#: Such phones have about two pixels to a CSS pixel. From memory: a common profile says 1.75.
DENSITY = 2.0
LOADED_MS = 8000  # by then
WATCHED_MS = 30_000
COOKED_S = 1800.0
HASTE = 10.0  # so many times life for the curves alone: they move, so are drawn, every second
BEAT_MS = 200  # the page's own beat (main.js): one update
#: As wide, but too low for charts: what all the rest of the page costs.
WITHOUT_CHARTS = (390, 680)
#: Instead of main.js: the curves and tables alone, with a reading and a forecast a second.
CURVES_ALONE = f"""
import {{ Board }} from "./state.js";
import {{ LaneCurve }} from "./lane_curve.js";
import {{ Storage, Unit }} from "./units.js";
import {{ make }} from "./dom.js";
const board = new Board();
board.apply(await (await fetch("../api/v1/snapshot")).json());
const zero = board.steaks[0].forecast.t;
const unit = new Unit(new Storage());
const curves = board.steaks.map(({{ steak }}) => new LaneCurve(steak, {{}}));
document.getElementById("board").append(...curves.map(({{ node, unseen }}, i) =>
  make("section", {{ class: `lane lane${{i}}` }}, node, unseen)));
let beats = 0;
setInterval(() => {{
  const t = zero + (beats * {BEAT_MS} * {HASTE}) / 1000;
  beats += 1;
  for (const {{ steak, forecast }} of beats % 5 ? [] : board.steaks) {{
    const core_c = forecast.core_c + 0.02;
    board.apply({{ type: "reading", t, steak, celsius: core_c }});
    board.apply({{ type: "forecast", ...forecast, t, core_c }});
  }}
  const drawn = () => curves.map(({{ chart }}) => chart.drawn.at).join();
  const before = drawn();
  board.steaks.forEach((steak, i) => curves[i].paint(steak, board, unit, t));
  if (drawn() !== before) performance.mark("drawn");
}}, {BEAT_MS});
"""
ENGINES = {"uPlot": True, "own SVG": False}
SCRIPT = "text/javascript"
TRACED = ["devtools.timeline", "disabled-by-default-devtools.timeline", "blink.user_timing"]
#: Marks every beat, and when the first live temperature stood on the page.
WATCH = f"""
const repeat = window.setInterval;
window.setInterval = (act, ms, ...rest) =>
  repeat(ms === {BEAT_MS} ? () => {{ performance.mark("beat"); act(); }} : act, ms, ...rest);
const watcher = new MutationObserver(() => {{
  if (!/\\d/.test(document.querySelector(".lane .core")?.textContent ?? "")) return;
  window.liveAt = performance.now();
  watcher.disconnect();
}});
watcher.observe(document, {{ childList: true, subtree: true, characterData: true }});
setTimeout(() => watcher.disconnect(), {LOADED_MS}); // or it would be part of the work
"""


class LongCook(Site):
    """Half an hour on, warming more and more slowly, with the pull still ahead."""

    def core(self, name: str, t: float) -> float:
        trembling = 0.05 * math.sin(t * (7.0 if name == "left" else 9.0))
        return 8.0 + 46.0 * (1.0 - math.exp(-t / 900.0)) + trembling

    def curve(self, name: str) -> list[list[float]]:
        return [[t, round(self.core(name, t), 2)] for t in range(0, int(self.t) + 1, 2)]

    def forecast(self, name: str) -> dict[str, Any]:
        left = 60.0 * (PULL_C - self.core(name, self.t))
        pull = {"p10": 0.85 * left, "p50": left, "p90": 1.3 * left}
        return {**super().forecast(name), "pull_in_s": pull}


async def measure() -> str:
    """Kilobytes on the wire, milliseconds to paint and of work, with and without the library."""
    return await asyncio.to_thread(_measure)


def _measure() -> str:
    path = require_tool("chromium", "chromium")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=ARGS)
        engines = [(name, _engine(browser, has_charts)) for name, has_charts in ENGINES.items()]
        with _open(browser, WITHOUT_CHARTS, has_charts=False) as (page, _):
            rest = _shares(work_per_beat(browser, page))
        browser.close()
    said = [f"{name}: {line}" for name, line in engines]
    return "\n  ".join(["", *said, f"without any curve the page takes {rest}"])


def _engine(browser: Browser, has_charts: bool) -> str:
    with _open(browser, PHONE, has_charts) as (page, load):
        whole = _shares(work_per_beat(browser, page))
    with _open(browser, PHONE, has_charts, main=CURVES_ALONE) as (page, _):
        drawn = work_per_beat(browser, page, among="drawn")
    return f"{load}; curves of two steaks {_shares(drawn)} (target p95 <= 8 ms); whole page {whole}"


@contextmanager
def _open(
    browser: Browser, size: tuple[int, int], has_charts: bool, main: str | None = None
) -> Iterator[tuple[Page, str]]:
    """The page on a slowed phone, and what its loading cost in words."""
    port, stop = serve(LongCook(at=COOKED_S, has_charts=has_charts))
    context = browser.new_context(
        viewport={"width": size[0], "height": size[1]}, device_scale_factor=DENSITY
    )
    try:
        page = context.new_page()
        page.add_init_script(WATCH)
        if main is not None:
            page.route("**/main.js", lambda route: route.fulfill(body=main, content_type=SCRIPT))
        cdp = context.new_cdp_session(page)
        cdp.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
        yield page, _cold_load(page, cdp, f"http://127.0.0.1:{port}/", main is None)
    finally:
        context.close()
        stop()


def _shares(work: list[float]) -> str:
    p50, p95 = np.percentile(work, [50, 95])
    return f"p50 {p50:.1f}, p95 {p95:.1f} ms per update"


def _cold_load(page: Page, cdp: CDPSession, address: str, is_whole: bool) -> str:
    received: list[float] = []
    cdp.send("Network.enable")
    cdp.on("Network.loadingFinished", lambda told: received.append(told["encodedDataLength"]))
    page.goto(address)
    page.locator(".lane .core" if is_whole else ".curve").first.wait_for()
    page.wait_for_timeout(LOADED_MS)
    if not is_whole:
        return ""
    paint, live = page.evaluate(
        "[performance.getEntriesByName('first-contentful-paint')[0].startTime, window.liveAt]"
    )
    return (
        f"{sum(received) / 1024:.0f} KB in {len(received)} answers, "
        f"first paint {paint:.0f} ms, first live value {live:.0f} ms"
    )


def work_per_beat(
    browser: Browser, page: Page, among: str = "beat", watched_ms: int = WATCHED_MS
) -> list[float]:
    """Milliseconds of a slow phone's main thread from a beat to the next, where it marks so."""
    page.context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": 1})
    browser.start_tracing(page=page, categories=TRACED)
    page.wait_for_timeout(watched_ms)
    events = json.loads(browser.stop_tracing())["traceEvents"]
    beats = [one for one in events if one["name"] == "beat"]
    thread = beats[0]["pid"], beats[0]["tid"]
    tasks = [
        (one["ts"] + one["dur"], SLOWER * one["tdur"] / 1000)
        for one in events
        if one["name"] == "RunTask" and (one["pid"], one["tid"]) == thread and "tdur" in one
    ]
    marks = [one["ts"] for one in events if one["name"] == among]
    return [
        # A mark stands inside its beat's task, which ends later.
        sum(milliseconds for done, milliseconds in tasks if begin < done <= end)
        for begin, end in itertools.pairwise(sorted(one["ts"] for one in beats))
        if any(begin <= mark < end for mark in marks)
    ]
