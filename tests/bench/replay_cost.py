"""What a replay at sixty times life costs a slow phone: work per beat, late beats, lost frames.

A cook of half an hour with four probes: two steaks, one at the grate, one assigned to nothing. The
phone is that of page_cost: four times slower than this machine. Work is its main thread's
processor time; frames are those of the slowed page, and one is dropped where more than
one and a half of its time lies between two.
"""

from __future__ import annotations

import asyncio
import time
from collections.abc import Mapping
from dataclasses import replace

import numpy as np
from playwright.sync_api import Browser, Page, sync_playwright

from pullcall.events import Input, Reading, Window
from pullcall.hindsight.study import study
from pullcall.log.cook_file import CookFile
from pullcall.simulators.kitchen import Event, Kitchen
from pullcall.simulators.scenario import scenario
from pullcall.site.recording import Recorder
from tests.bench.page_cost import BEAT_MS, DENSITY, SLOWER, WATCH, work_per_beat
from tests.page.fake_site import Site
from tests.page.visit import ARGS, PHONE, serve
from tests.tools import require_tool

LASTS_S = 1800
SPEED = 60
WATCHED_MS = 15_000
FRAME_MS = 1000 / 60
WINDOW = Window("2026-06-13T13:58:00+00:00", "2026-06-13T14:28:00+00:00")
#: Notes when each frame was drawn, and each beat.
FRAMES = """ms => new Promise((done) => {
  const frames = [];
  const begin = performance.now();
  const next = (at) => {
    frames.push(at);
    if (performance.now() - begin < ms) requestAnimationFrame(next);
    else done([frames, performance.getEntriesByName("beat").map(({ startTime }) => startTime)
      .filter((at) => at >= begin)]);
  };
  requestAnimationFrame(next);
})"""


async def measure() -> str:
    """Seconds and kilobytes of the recording; milliseconds of work per beat; beats and frames."""
    return await asyncio.to_thread(_measure)


def _measure() -> str:
    begin = time.process_time()
    recording = _recording()
    made_s = time.process_time() - begin
    path = require_tool("chromium", "chromium")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=ARGS)
        played = [f"{name}: {_played(browser, recording, has)}" for name, has in _ENGINES.items()]
        browser.close()
    made = f"half an hour, four probes: {len(recording) / 1024:.0f} KB, made in {made_s:.1f} s"
    return "\n  ".join(["", made, *played])


_ENGINES = {"uPlot": True, "own SVG": False}


def _played(browser: Browser, recording: bytes, has_charts: bool) -> str:
    port, stop = serve(Site(at=80.0, recordings={"long": recording}, has_charts=has_charts))
    context = browser.new_context(
        viewport={"width": PHONE[0], "height": PHONE[1]}, device_scale_factor=DENSITY
    )
    try:
        page = context.new_page()
        page.add_init_script(WATCH)
        cdp = context.new_cdp_session(page)
        cdp.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
        begin = time.monotonic()
        page.goto(f"http://127.0.0.1:{port}/#replay=long&speed={SPEED}&t=0")
        page.locator(".tape").wait_for()
        opened_s = time.monotonic() - begin
        frames = _frames(page)
        page.get_by_role("slider", name="Moment of the cook").press("Home")
        work = work_per_beat(browser, page, watched_ms=WATCHED_MS)
        p50, p95 = np.percentile(work, [50, 95])
        return f"opened in {opened_s:.1f} s; work {p50:.1f}, p95 {p95:.1f} ms per beat; {frames}"
    finally:
        context.close()
        stop()


def _frames(page: Page) -> str:
    frames, beats = page.evaluate(FRAMES, WATCHED_MS)
    gaps, waits = np.diff(frames), np.diff(beats)
    dropped = np.maximum(0, np.round(gaps / FRAME_MS) - 1)
    return (
        f"{int(dropped.sum())} of {len(gaps) + int(dropped.sum())} frames dropped, "
        f"longest {gaps.max():.0f} ms; a beat of {BEAT_MS} ms came after {np.median(waits):.0f}, "
        f"at most {waits.max():.0f} ms"
    )


def _recording() -> bytes:
    """The demo's cook, with another probe in nothing."""
    demo = scenario("demo")
    whose = {scene.channel: scene.steak for scene in demo.steaks}
    seen = [_told(event, whose) for event in Kitchen(demo).advance(LASTS_S)]
    spare = [Reading(t + 0.3, None, 21.0 + t % 7 / 10, "spare/0") for t in range(0, LASTS_S, 2)]
    inputs = tuple(sorted([*seen, *spare], key=lambda event: event.t))
    recorder = Recorder()
    cook = CookFile(replace(demo.header(), window=WINDOW), inputs, (), ())
    return recorder.gzipped(study(cook, follow=[recorder]))


def _told(event: Event, whose: Mapping[str | None, str]) -> Input:
    return replace(event, steak=whose.get(event.channel)) if isinstance(event, Reading) else event
