"""A rival's text in every field that a page is told, and what came of it in the browser.

On the way from the site to the page everything that anybody may have written (names of steaks,
probes, channels, phones and sites, looks, notes, sentences) gets markup at its end. So no field is
missed, whatever the server itself would have let through.
"""

from __future__ import annotations

import json
from typing import Any
from urllib.parse import urlsplit

from playwright.sync_api import Dialog, Page, Route, WebSocketRoute

#: Out of an attribute, out of an element; an element that loads, one that runs, one of no kind.
EVIL = "\"'></title><x-evil></x-evil><img src=/evil onerror=hit()><svg onload=hit()>"

#: What a page is told that is one of a few words, a time, an id of this program, or a picture.
_FIXED = frozenset(
    {"type", "epoch", "wall", "mode", "unit", "phase", "mark", "call", "state", "priority", "id",
     "role", "rights", "kind", "pull_by", "carry_over", "started", "ended", "closes", "opens",
     "version", "qr", "links", "code", "paired", "invitation", "ticket", "cook", "clip", "from",
     "hand_in_wall", "site", "phone", "verdict", "standard", "mode_of", "choice", "rest_on"}
)  # fmt: skip
_COLLECT = """
window.hits = [];
window.hit = () => window.hits.push("a script ran");
document.addEventListener("securitypolicyviolation", (event) => {
  window.hits.push(`policy: ${event.violatedDirective} ${event.blockedURI}`);
});
"""
_INJECTED = """[...document.querySelectorAll(
  "x-evil, [onerror], [onload], [src='/evil'], [href^='javascript:']")]
  .map((node) => node.outerHTML.slice(0, 120))"""


def poisoned(told: Any, key: str = "") -> Any:
    """The same with EVIL at the end of each text that somebody may have written."""
    if isinstance(told, dict):
        return {name: poisoned(value, name) for name, value in told.items()}
    if isinstance(told, list):
        return [poisoned(one, key) for one in told]
    return f"{told}{EVIL}" if isinstance(told, str) and key not in _FIXED and told else told


class Rival:
    """Stands between a page and its site; give :meth:`poison` as ``before``."""

    def __init__(self) -> None:
        self.poisoned = 0
        self.dialogs: list[str] = []
        self.asked: list[str] = []

    def poison(self, page: Page) -> None:
        """Write into everything that the page is told from now on, and note what happens."""
        page.add_init_script(_COLLECT)
        page.on("dialog", self._opened)
        page.on("request", lambda request: self.asked.append(request.url))
        page.route("**/api/v1/**", self._answer)
        page.route_web_socket("**/api/v1/stream*", self._stream)

    def gain(self, page: Page) -> list[str]:
        """What the rival got: scripts, elements, dialogs, requests; nothing at best."""
        hits: list[str] = page.evaluate("window.hits")
        injected: list[str] = page.evaluate(_INJECTED)
        foreign = [url for url in self.asked if urlsplit(url).path == "/evil"]
        return [*hits, *injected, *self.dialogs, *foreign]

    def _opened(self, dialog: Dialog) -> None:
        self.dialogs.append(dialog.message)
        dialog.dismiss()

    def _answer(self, route: Route) -> None:
        answer = route.fetch()
        if "json" not in answer.headers.get("content-type", "") or not answer.body():
            route.fulfill(response=answer)
            return
        route.fulfill(response=answer, body=self._written(answer.text()))

    def _stream(self, socket: WebSocketRoute) -> None:
        server = socket.connect_to_server()
        server.on_message(lambda message: socket.send(self._written(str(message))))

    def _written(self, text: str) -> str:
        self.poisoned += 1
        return json.dumps(poisoned(json.loads(text)))
