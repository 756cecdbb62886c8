"""One open page with its scripted site behind it: what the page's tests share."""

from __future__ import annotations

import re
import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import uvicorn
from playwright.sync_api import Locator, Page, expect
from starlette.types import ASGIApp

from tests.page.fake_app import make_app
from tests.page.fake_site import Site
from tests.page.patience import HANG_S, holds

PHONE = (390, 844)
#: Sounds stay shut until a tap, as on a phone; everything else keeps the browser quiet.
ARGS = [
    "--no-sandbox",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--autoplay-policy=document-user-activation-required",
]

#: Keeps every burst, the pitch and harmonics of every tone, all words, how many clips were decoded,
#: and the number of the last message, for the tests to read.
WATCH = """
window.told = -1;
window.WebSocket = class extends window.WebSocket {
  constructor(...given) {
    super(...given);
    this.addEventListener("message", ({ data }) => {
      window.told = JSON.parse(data).seq ?? window.told;
    });
  }
};
window.heardCalls = [];
window.bursts = [];
document.addEventListener("pullcall:sounded", ({ detail }) => {
  window.bursts.push(detail);
  for (const call of detail.calls) window.heardCalls.push({ ...call, audible: detail.audible });
});
window.tones = [];
window.toneStarts = [];
const start = OscillatorNode.prototype.start;
OscillatorNode.prototype.start = function (at) {
  window.tones.push(this.frequency.value);
  window.toneStarts.push(at);
  return start.call(this, at);
};
window.words = [];
const speak = AudioBufferSourceNode.prototype.start;
AudioBufferSourceNode.prototype.start = function (at) {
  const samples = this.buffer.getChannelData(0);
  const peak = samples.reduce((most, one) => Math.max(most, Math.abs(one)), 0);
  this.said = { at, seconds: this.buffer.duration, peak, stopped: null };
  window.words.push(this.said);
  return speak.call(this, at);
};
const hush = AudioBufferSourceNode.prototype.stop;
AudioBufferSourceNode.prototype.stop = function () {
  const now = this.context.currentTime;
  if (now < this.said.at + this.said.seconds) this.said.stopped = now;
  return hush.call(this);
};
window.decoded = 0;
const decode = BaseAudioContext.prototype.decodeAudioData;
BaseAudioContext.prototype.decodeAudioData = async function (bytes) {
  try {
    return await decode.call(this, bytes);
  } finally {
    window.decoded += 1;
  }
};
window.media = [];
const play = HTMLMediaElement.prototype.play;
HTMLMediaElement.prototype.play = function () {
  window.media.push(this);
  return play.call(this);
};
const wave = BaseAudioContext.prototype.createPeriodicWave;
BaseAudioContext.prototype.createPeriodicWave = function (real, imag) {
  window.harmonics = [...imag];
  return wave.call(this, real, imag);
};
"""
#: Makes the page wait longer for the other calls of a burst: on a busy machine they come further
#: apart than 30 ms.
_GATHER_LONGER = """
const later = window.setTimeout;
window.setTimeout = (act, ms, ...given) => later(act, ms === 30 ? 1000 : ms, ...given);
"""


def marked(what: str) -> re.Pattern[str]:
    """What the bar says of a mark; one whose answer took seconds, of how long ago it is."""
    return re.compile(rf"{what}( marked|, \d+ s ago)")


def gather_longer(page: Page) -> None:
    """Give this as ``before``, where calls have to sound as one burst."""
    page.add_init_script(_GATHER_LONGER)


@dataclass
class Visit:
    """One open page, its site, and what the browser complained of or asked for."""

    site: Site
    page: Page
    port: int
    stop: Callable[[], None]  # end the site, as if the link were dead
    complaints: list[str] = field(default_factory=list)
    hosts: set[str] = field(default_factory=set)

    def arm(self) -> None:
        self.page.get_by_role("button", name="Tap to hear calls").click()
        expect(self.page.locator("#slot")).to_contain_text("Heard it?")
        self.page.get_by_role("button", name="Yes", exact=True).click()

    def lane(self, name: str) -> Locator:
        return self.page.get_by_role("region", name=name)

    def slot(self) -> Locator:
        return self.page.locator("#slot")

    def until(self, expression: str) -> None:
        """Wait for something in the page; the strict policy forbids the browser's own waiting."""

        def check() -> None:
            assert self.page.evaluate(expression), f"not true: {expression}"

        holds(self.page, check)

    def catch_up(self) -> None:
        """Wait until the page has taken in all that its site has sent so far."""
        self.until(f"window.told >= {self.site.seq}")

    def heard(self) -> list[dict[str, Any]]:
        heard: list[dict[str, Any]] = self.page.evaluate("window.heardCalls")
        return heard


Open = Callable[..., Visit]


def serve(site: Site, port: int = 0) -> tuple[int, Callable[[], None]]:
    """The scripted site in a thread: its port (any where that is 0), and what stops it."""
    return serve_app(make_app(site), port)


def serve_app(app: ASGIApp, port: int = 0) -> tuple[int, Callable[[], None]]:
    """An application in a thread: its port, and what stops it."""
    config = uvicorn.Config(
        app,
        host="127.0.0.1",
        port=port,
        log_level="warning",
        ws="websockets-sansio",
        timeout_graceful_shutdown=1,
    )
    server = uvicorn.Server(config)
    ready = threading.Event()
    startup = server.startup

    async def started(*args: Any, **named: Any) -> None:
        await startup(*args, **named)
        ready.set()

    server.startup = started  # type: ignore[method-assign]
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    assert ready.wait(HANG_S), "the application did not start"

    def stop() -> None:
        server.should_exit = True
        thread.join(HANG_S)
        assert not thread.is_alive(), "the application did not stop"

    return server.servers[0].sockets[0].getsockname()[1], stop
