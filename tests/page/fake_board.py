"""A small board that speaks the contract of a board's page, for trying that page on its own.

``python -m tests.page.fake_board --sites 12`` serves it on 127.0.0.1:8799.
"""

from __future__ import annotations

import argparse
import asyncio
import itertools
import threading
import time
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass, field
from typing import Any

import uvicorn
from fastapi import FastAPI, Request, Response, WebSocket
from fastapi.responses import HTMLResponse

from pullcall.api.pages import PAGE, Pages
from tests.page.fake_access import NOBODY, Access
from tests.page.fake_app import COOKIE, POLICY, make_app, refused
from tests.page.fake_site import Site
from tests.page.inbox import END, Inbox

Row = dict[str, Any]
WATCHER = {**NOBODY, "role": "watcher", "rights": ["read"], "board": True}
SECRET = "a-good-link"
OK = {"state": "ok", "note": ""}
CUT = {
    "state": "lost",
    "note": "The broker mqtt.example:8883 cannot be reached: check the network.",
}


@dataclass
class Board:
    """The script's state: tests change ``rows`` by :meth:`change`, and cut what they like.

    ``guarded``: only the link with :data:`SECRET` lets a phone in. Its clock stands at ``at`` until
    a page is shown the rows, however long a browser takes to open it.
    """

    rows: list[Row] = field(default_factory=list)
    broker: dict[str, str] = field(default_factory=lambda: dict(OK))
    guarded: bool = False
    silent: bool = False  # answers nothing any more
    at: float = 1000.0
    seq: int = 0
    epoch: str = "fake"
    mirrored: Mirrored | None = None
    pages: set[Inbox] = field(default_factory=set)
    cookies: set[str] = field(default_factory=set)
    zero: float | None = None  # of its clock; None: it stands
    #: The test's thread and the server's change and send in turn.
    turn: threading.RLock = field(default_factory=threading.RLock)

    @property
    def t(self) -> float:
        return self.at if self.zero is None else time.monotonic() - self.zero

    def begin(self) -> None:
        """Let the clock go, if it stands."""
        with self.turn:
            if self.zero is None:
                self.zero = time.monotonic() - self.at

    def greet(self, page: Inbox) -> None:
        """Show a page everything; what is sent from then on reaches it, too."""
        self.begin()
        with self.turn:
            hello = {"epoch": self.epoch, "seq": self.seq, "t": self.t, "speed": 1}
            page.put({"type": "hello", **hello, "resumed": False, "broker": self.broker},
                     self.whole())  # fmt: skip
            self.pages.add(page)

    def forget(self, page: Inbox) -> None:
        """The page has gone."""
        with self.turn:
            self.pages.discard(page)

    def send(self, kind: str, **fields: Any) -> None:
        with self.turn:
            self.seq += kind != "tick"
            number = {} if kind == "tick" else {"seq": self.seq}
            for page in self.pages:
                page.put({"type": kind, **number, "t": self.t, **fields})

    def whole(self) -> Row:
        """Everything, as ``GET /api/v1/sites`` answers."""
        return {"type": "board", "epoch": self.epoch, "seq": self.seq, "t": self.t, "unit": "F",
                "broker": dict(self.broker), "rows": list(self.rows)}  # fmt: skip

    def change(self, site: str, first: bool = False, **fields: Any) -> None:
        """Change a row, or put it before all others as well, and tell."""
        with self.turn:
            row = {**next(one for one in self.rows if one["site"] == site), **fields}
            rows = [row if one["site"] == site else one for one in self.rows]
            self.rows = [row, *(one for one in rows if one is not row)] if first else rows
            self.send("rows", rows=[row], order=[one["site"] for one in self.rows])

    def show(self, rows: list[Row]) -> None:
        """Change all rows, and tell."""
        with self.turn:
            self.rows = rows
            self.tell()

    def cut(self, broker: dict[str, str]) -> None:
        """Change the way to the broker, and tell."""
        with self.turn:
            self.broker = broker
            self.tell()

    def tell(self) -> None:
        """Tell everything anew."""
        self.send("board", **{k: v for k, v in self.whole().items() if k not in ("seq", "type")})

    def visitor(self, cookie: str | None) -> Row:
        if not self.guarded:
            return {**WATCHER, "here": True}
        return WATCHER if cookie in self.cookies else {**NOBODY, "board": True}

    def shut_out(self) -> None:
        """End every link."""
        with self.turn:
            self.cookies.clear()
            for page in self.pages:
                page.put(END)

    async def tick(self) -> None:
        """Tell the clock each second, until cancelled."""
        while True:
            await asyncio.sleep(0.5)
            if not self.silent:
                self.send("tick")


class BoardAccess(Access):
    """At a site's page on a board everybody only looks on."""

    def visitor(self, cookie: str | None) -> Row:
        return {**WATCHER, "here": True, "site": {"id": "north", "name": "North grill"}}


@dataclass
class Mirrored(Site):
    """A site as a board shows it: while it is not heard nothing comes but answers to pings."""

    access: Access = field(default_factory=BoardAccess)
    heard: float | None = None  # when it was heard last; None: it is heard

    def hush(self, ago_s: float) -> None:
        self.heard = time.monotonic() - ago_s

    def send_all(self, *messages: tuple[str, Row]) -> None:
        if self.heard is None:
            super().send_all(*messages)

    def snapshot(self) -> Row:
        ago = 0.0 if self.heard is None else time.monotonic() - self.heard
        return {**super().snapshot(), "heard_s": ago}


def make_board(board: Board) -> FastAPI:
    """The page of all sites, its stream, and the page of one site below it."""
    below = board.mirrored

    @asynccontextmanager
    async def lifespan(app: FastAPI) -> AsyncIterator[None]:
        playing = [asyncio.create_task(one.play()) for one in (below,) if one]
        playing.append(asyncio.create_task(board.tick()))
        yield
        for one in playing:
            one.cancel()

    app = FastAPI(lifespan=lifespan)

    @app.middleware("http")
    async def strict(request: Request, forward: Any) -> Response:
        if board.silent:
            return Response(status_code=503)
        answer: Response = await forward(request)
        answer.headers.update(POLICY)
        return answer

    @app.get("/")
    async def page() -> HTMLResponse:
        return HTMLResponse((PAGE / "board.html").read_text(encoding="utf-8"))

    @app.get("/api/v1/visitor")
    async def visitor(request: Request) -> Row:
        return board.visitor(request.cookies.get(COOKIE))

    @app.post("/api/v1/pairings", status_code=201)
    async def pair(body: Row, response: Response) -> Any:
        if body.get("secret") != SECRET:
            return refused("This link has run out: ask whoever runs the board for a new one.", 403)
        board.cookies.add("let-in")
        response.set_cookie(COOKIE, "let-in", httponly=True, samesite="strict")
        return WATCHER

    @app.post("/api/v1/tickets", status_code=201)
    async def ticket() -> Row:
        return {"ticket": "once"}

    @app.get("/api/v1/sites")
    async def sites() -> Row:
        board.begin()
        with board.turn:
            return board.whole()

    @app.websocket("/api/v1/stream")
    async def stream(socket: WebSocket) -> None:
        if board.silent:
            await socket.close()
            return
        await socket.accept("pullcall.1")
        await _feed(board, socket)

    if below:
        app.mount("/sites/north", make_app(below))
    Pages({}).serve(app)
    return app


async def _feed(board: Board, socket: WebSocket) -> None:
    """Greet one page, then feed it and answer its pings until it goes."""
    inbox = Inbox()
    board.greet(inbox)
    try:
        await inbox.feed(socket, lambda: None if board.silent else {"t": board.t})
    finally:
        board.forget(inbox)


def steak(name: str, celsius: float | None, t: float, pull_in_s: float | None = None) -> Row:
    """One steak that is on, at board time ``t``; its probe is heard for half a minute more."""
    middle = None if pull_in_s is None else t + pull_in_s
    pull = middle and {"p10": middle - 8, "p50": middle, "p90": middle + 12}
    return {"steak": name, "phase": "on", "celsius": celsius, "reading_t": t + 30,
            "pull_c": 53.9, "pull_t": pull}  # fmt: skip


def row(site: str, name: str, t: float, due_in_s: float | None = 300.0, **more: Any) -> Row:
    """A site where both steaks are on and have to be turned."""
    due = None if due_in_s is None else {"call": "turn", "steaks": ["left", "right"],
           "due_t": t + due_in_s, "text": "Both: turn now", "priority": 2}  # fmt: skip
    return {"site": site, "name": name, "state": "here", "heard_t": t, "stage": "cooking",
            "simulated": False, "speed": 1, "alarm": None, "next": due,
            "window": {"opens_t": t - 60, "closes_t": t + 1500},
            "steaks": [steak("left", 48.0, t, 252.0), steak("right", 46.6, t, 271.0)],
            **more}  # fmt: skip


def alarm(call: str, text: str, t: float, priority: int = 1, **more: Any) -> Row:
    """An alarm that nobody has answered yet."""
    return {"call": call, "text": text, "priority": priority, "steaks": ["left"],
            "state": "unacknowledged", "since_t": t, **more}  # fmt: skip


def every_kind(t: float) -> list[Row]:
    """A site in each state that a row can be in, with names as people give them."""
    off = {"phase": "resting", "pull_t": None}
    rested = [{**steak("left", 55.8, t), **off}, {**steak("right", 55.1, t), **off}]
    cold = {"phase": "waiting"}
    waiting = [{**steak("left", 5.0, t), **cold}, {**steak("right", None, t), **cold}]
    pull = {"call": "pull_soon", "steaks": ["left"], "due_t": t, "text": "Left: pull in about 40",
            "priority": 1}  # fmt: skip
    light = {"call": "plan_step", "steaks": [], "due_t": t + 4000, "text": "Light the chimney",
             "priority": 3}  # fmt: skip
    near = [steak("left", 52.9, t, 40.0), steak("right", 50.2, t, 1000.0)]
    wide = {"p10": t + 200, "p50": t + 720, "p90": t + 1200}
    vague = {**steak("left", 52.9, t), "pull_t": wide}
    return [
        row("north", "North grill", t, alarm=alarm("pull_now", "Left: pull now", t - 4)),
        row("east", "East pit by the river", t, None, state="silent", heard_t=t - 12,
            alarm=alarm("silent", "Not heard while cooking", t - 7, 2)),
        row("west", "Westerly contest team", t, 38.0,
            alarm=alarm("fire_low", "Fire falling, below the floor", t - 90, 3,
                        state="acknowledged")),
        row("south", "South", t, None, next=pull, steaks=near, simulated=True, speed=6),
        row("mill", "Mill", t, -6.0),
        row("harbour", "The harbour kitchen's second grill, left", t, 160.0),
        row("alone", "Alone", t, None, steaks=[vague], next={**pull, "due_t": t + 660}),
        row("early", "Early bird", t, None, stage="waiting", next=light, steaks=waiting,
            window=None),
        row("rested", "Rested", t, None, stage="resting", steaks=rested,
            alarm=alarm("rest_done", "Right: rested, choose and box", t - 200, 3)),
        row("lost", "Lost valley", t, -680.0, state="lost", heard_t=t - 800),
        row("gone", "Gone home", t, None, state="gone", heard_t=t - 8000, stage="over",
            steaks=[{**one, "phase": "handed_in"} for one in rested]),
        row("new", "Newcomer", t, None, stage="waiting", steaks=[], window=None),
    ]  # fmt: skip


def many(count: int, t: float) -> list[Row]:
    """So many sites, each with something due, some with more than that."""
    kinds = every_kind(t)
    plain = (row(f"site-{i}", f"Pitch {i}", t, 20.0 + 7.0 * i) for i in itertools.count(1))
    return [*kinds, *itertools.islice(plain, max(0, count - len(kinds)))][:count]


def main() -> None:
    """Serve for trying by hand."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sites", type=int, default=12)
    parser.add_argument("--port", type=int, default=8799)
    parser.add_argument("--guarded", action="store_true", help=f"only /#k={SECRET} lets in")
    chosen = parser.parse_args()
    board = Board(guarded=chosen.guarded, mirrored=Mirrored(300.0))
    board.rows = many(chosen.sites, board.t)
    uvicorn.run(make_board(board), host="127.0.0.1", port=chosen.port, log_level="warning",
                ws="websockets-sansio")  # fmt: skip


if __name__ == "__main__":
    main()
