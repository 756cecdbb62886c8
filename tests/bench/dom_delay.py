"""From a reading at a site to the DOM of a board's page, in Chromium without a screen."""

from __future__ import annotations

import time

from playwright.async_api import async_playwright

from tests.bench.board_watch import Ages
from tests.integration.daemon import Daemon
from tests.page.visit import ARGS, PHONE
from tests.tools import require_tool

#: The page's own beat (board/main.js): it paints what came since the last one.
BEAT_MS = 200
#: Notes what came by the socket, and when the beat that painted it was over.
WATCH = f"""
window.painted = [];
const came = [];
const shown = new Map();
window.WebSocket = class extends WebSocket {{
  constructor(...all) {{
    super(...all);
    this.addEventListener("message", ({{ data }}) => {{
      const message = JSON.parse(data);
      for (const {{ site, steaks }} of message.rows ?? []) {{
        for (const {{ steak, celsius }} of steaks) {{
          const key = `${{site}}/${{steak}}`;
          if (message.type === "rows" && shown.get(key) !== celsius) came.push(celsius);
          shown.set(key, celsius);
        }}
      }}
    }});
  }}
}};
const repeat = window.setInterval;
window.setInterval = (act, ms, ...rest) => repeat(ms !== {BEAT_MS} ? act : () => {{
  act();
  const at = performance.timeOrigin + performance.now();
  window.painted.push(...came.splice(0).map((celsius) => [celsius, at]));
}}, ms, ...rest);
"""


async def watch_dom(board: Daemon, seconds: float) -> tuple[Ages, int]:
    """How old readings are once they are painted, and how many rows the page has."""
    chromium = require_tool("chromium", "chromium")
    async with async_playwright() as play:
        browser = await play.chromium.launch(executable_path=chromium, args=ARGS)
        page = await browser.new_page(viewport={"width": PHONE[0], "height": PHONE[1]})
        await page.add_init_script(WATCH)
        await page.goto(board.url.removesuffix("api/v1"))
        await page.get_by_role("link").first.wait_for()
        await page.wait_for_timeout(seconds * 1000.0)
        painted = await page.evaluate("window.painted")
        rows = await page.get_by_role("link").count()
        await browser.close()
    ages = Ages()
    wall_ms = (time.time() - time.monotonic()) * 1000.0
    for celsius, at_ms in painted:
        ages.take([celsius], (at_ms - wall_ms) / 1000.0)
    return ages, rows
