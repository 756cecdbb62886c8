"""A small site that speaks the stream's contract, for trying the page on its own.

``python tests/page/fake_site.py --at 200 --speed 6`` serves it on 127.0.0.1:8799. The steaks warm
along a straight line; nothing here forecasts, it only plays a script.
"""

from __future__ import annotations

import argparse
import asyncio
import math
import time
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import uvicorn
from fastapi import FastAPI, Request, Response, WebSocket, WebSocketDisconnect
from fastapi.responses import FileResponse, JSONResponse
from fastapi.staticfiles import StaticFiles
from pydantic import BaseModel

PAGE = Path(__file__).parents[2] / "api" / "pullcall" / "api" / "page"
STEAKS = ("left", "right")
PLAN = [{"t": 120, "mark": "turn"}, {"t": 240, "mark": "flip"}, {"t": 330, "mark": "turn"}]
POLICY = {"content-security-policy": "default-src 'self'", "cache-control": "no-store"}
RISE_C_PER_S = 0.095
START_C = 8.0
PULL_C = 53.9
TARGET_C = 57.2
PHASE_AFTER = {"on": "on", "off": "resting", "boxed": "boxed", "handed_in": "handed_in"}


class MarkBody(BaseModel):
    """What POST /marks takes."""

    mark: str
    steak: str | None = None
    ago_s: float = 0


class SpotBody(BaseModel):
    """What POST /spots takes."""

    steak: str
    celsius: float


class CookBody(BaseModel):
    """What PATCH /cook takes."""

    rest_on: str


class SteakBody(BaseModel):
    """What PATCH /steaks/{name} takes, as far as the page's tests change it."""

    pull_c: float


class AckBody(BaseModel):
    """What POST /acknowledgements takes."""

    call: str
    by: str


@dataclass
class Site:
    """The script's state. Tests set ``silent`` and add calls and schedule entries."""

    at: float = 0.0
    speed: float = 1.0
    mode: str = "live"
    banner: str | None = None
    cooking: bool = True
    silent: bool = False
    seq: int = 0
    marks: list[dict[str, Any]] = field(default_factory=list)
    spots: list[dict[str, Any]] = field(default_factory=list)
    calls: list[dict[str, Any]] = field(default_factory=list)
    schedule: list[dict[str, Any]] = field(default_factory=list)
    pages: set[asyncio.Queue[dict[str, Any]]] = field(default_factory=set)
    why: str | None = None
    names: tuple[str, ...] = STEAKS
    ends_t: float | None = None
    spread: float = 0.1  # of the pull forecast, as a share of its middle
    probed: bool = True
    rest_on: str = "rack"
    pulls: dict[str, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.zero = time.monotonic() - self.at / self.speed
        if self.cooking:
            self.take("on", "left", ago_s=self.at)
            if "right" in self.names:
                self.take("on", "right", ago_s=self.at - min(6.0, self.at))

    @property
    def t(self) -> float:
        return (time.monotonic() - self.zero) * self.speed

    def send(self, kind: str, **fields: Any) -> None:
        numbered = kind != "tick"
        self.seq += numbered
        message = {"type": kind, **({"seq": self.seq} if numbered else {}), **fields}
        for page in self.pages:
            page.put_nowait(message)

    def take(self, mark: str, steak: str | None, ago_s: float = 0) -> dict[str, Any]:
        at = round(self.t - ago_s, 3)
        taken = {
            "id": f"m{self.seq}-{len(self.marks)}",
            "t": at,
            "at": at,
            "steak": steak,
            "mark": mark,
        }
        self.marks.append(taken)
        self.send("mark", **taken)
        self.send_steaks()
        return taken

    def undo(self, name: str) -> None:
        self.marks = [one for one in self.marks if one["id"] != name]
        self.spots = [one for one in self.spots if one["id"] != name]
        self.send("undo", t=self.t, id=name)
        self.send_steaks()

    def call(
        self, name: str, steaks: list[str], text: str, priority: int = 1, in_s: float = 0
    ) -> dict[str, Any]:
        made = {"id": f"c{len(self.calls)}", "t": self.t, "steaks": steaks, "call": name,
                "in_s": in_s, "priority": priority, "text": text,
                "state": "unacknowledged"}  # fmt: skip
        self.calls.append(made)
        self.send("call", **made)
        return made

    def send_steaks(self) -> None:
        for name in self.names:
            self.send("steak", **self.steak(name))

    def own(self, name: str) -> list[dict[str, Any]]:
        return [one for one in self.marks if one["steak"] in (None, name)]

    def core(self, name: str, t: float) -> float:
        on = self.first(name, "on")
        end = self.first(name, "off")
        cooked = 0.0 if on is None else max(0.0, min(t, math.inf if end is None else end) - on)
        return START_C + RISE_C_PER_S * cooked * (1.0 if name == "left" else 0.93)

    def first(self, name: str, mark: str) -> float | None:
        return next((one["at"] for one in self.own(name) if one["mark"] == mark), None)

    def steak(self, name: str) -> dict[str, Any]:
        own = [one["mark"] for one in self.own(name)]
        phases = [PHASE_AFTER[mark] for mark in own if mark in PHASE_AFTER]
        phase = phases[-1] if phases else "waiting"
        on = self.first(name, "on")
        done = sum(mark in ("turn", "flip") for mark in own)
        coming = PLAN[done] if on is not None and phase == "on" and done < len(PLAN) else None
        after = (
            coming
            and on is not None
            and {"mark": coming["mark"], "due_t": on + float(str(coming["t"]))}
        )
        return {"steak": name, "phase": phase, "on_t": on, "off_t": self.first(name, "off"),
                "pull_c": self.pulls.get(name, PULL_C), "target_c": TARGET_C,
                "thickness_mm": 32.0, "start_c": START_C,
                "channel": f"{name}-probe" if self.probed else None, "next": after or None,
                "reading": self.reading(name) if self.probed else None,
                "forecast": self.forecast(name) if on is not None else None}  # fmt: skip

    def reading(self, name: str) -> dict[str, float]:
        return {"t": round(self.t, 2), "celsius": round(self.core(name, self.t), 2)}

    def forecast(self, name: str) -> dict[str, Any]:
        t = self.t
        core = self.core(name, t)
        left = (PULL_C - core) / (RISE_C_PER_S * (1.0 if name == "left" else 0.93))
        off = self.first(name, "off") is not None
        pull = (
            None
            if off or self.why
            else {
                "p10": left * (1 - self.spread) - 3,
                "p50": left,
                "p90": left * (1 + self.spread) + 4,
            }
        )
        peak = {"p10": 56.4, "p50": 57.4, "p90": 58.6}
        return {"t": t, "steak": name, "pull_in_s": pull, "peak_c": peak,
                "core_c": core, "rise_c_per_min": RISE_C_PER_S * 60, "rise_window_s": 30,
                "why": self.why}  # fmt: skip

    def snapshot(self) -> dict[str, Any]:
        return {
            "type": "snapshot",
            "epoch": "fake",
            "seq": self.seq,
            "t": self.t,
            "wall": "2026-06-13T13:48:32Z",
            "speed": self.speed,
            "mode": self.mode,
            "unit": "F",
            "banner": self.banner,
            "ends_t": self.ends_t,
            "cook": {
                "id": "c",
                "started": "2026-06-13T13:40:00Z",
                "rest_on": self.rest_on,
                "plan": PLAN,
            },
            "steaks": [{**self.steak(name), "curve": self.curve(name)} for name in self.names],
            "marks": self.marks,
            "spots": self.spots,
            "calls": self.calls,
            "schedule": self.schedule,
            "probes": [self.probe(name) for name in self.names],
            "adapter": {"name": "hci0", "state": "up", "note": None},
        }

    def curve(self, name: str) -> list[list[float]]:
        if not self.probed:
            return []
        return [[s, self.core(name, s)] for s in range(0, int(self.t) + 1, 2)][-400:]

    def probe(self, name: str) -> dict[str, Any]:
        return {
            "channel": f"{name}-probe",
            "device": f"dev-{name}",
            "name": f"Probe {name}",
            "standard": "health thermometer",
            "state": "live",
            "celsius": self.core(name, self.t),
            "battery_percent": 80,
            "rssi_dbm": -61,
            "age_s": 0.4,
            "attempts": 1,
            "refused": 0,
            "note": None,
            "steak": name,
        }

    async def play(self) -> None:
        """Send what a real site sends each second, until cancelled."""
        while True:
            await asyncio.sleep(0.5)
            if self.silent:
                continue
            self.send("tick", t=self.t if self.ends_t is None else min(self.t, self.ends_t))
            for name in self.names:
                if self.probed:
                    self.send(
                        "reading",
                        t=self.t,
                        steak=name,
                        channel=f"{name}-probe",
                        celsius=self.core(name, self.t),
                    )
                if self.steak(name)["phase"] in ("on", "resting"):
                    self.send("forecast", **self.forecast(name))


def make_app(site: Site) -> FastAPI:
    """The page, the stream and the requests of the contract that the page uses."""

    @asynccontextmanager
    async def lifespan(app: FastAPI) -> AsyncIterator[None]:
        playing = asyncio.create_task(site.play())
        yield
        playing.cancel()

    app = FastAPI(lifespan=lifespan)
    app.mount("/page", StaticFiles(directory=PAGE))

    @app.middleware("http")
    async def strict(request: Request, forward: Any) -> Response:
        if site.silent:
            return Response(status_code=503)
        answer: Response = await forward(request)
        answer.headers.update(POLICY)
        return answer

    @app.get("/")
    async def index() -> FileResponse:
        return FileResponse(PAGE / "index.html")

    @app.get("/api/v1/snapshot")
    async def snapshot() -> dict[str, Any]:
        return site.snapshot()

    @app.websocket("/api/v1/stream")
    async def stream(socket: WebSocket) -> None:
        if site.silent:
            await socket.close()
            return
        await socket.accept()
        await serve(site, socket)

    @app.post("/api/v1/marks", status_code=201)
    async def mark(body: MarkBody) -> Any:
        if body.mark == "baste":
            problem = {
                "title": "Conflict",
                "status": 409,
                "detail": "Baste only while the steak is on.",
            }
            return JSONResponse(problem, 409, media_type="application/problem+json")
        return site.take(body.mark, body.steak, body.ago_s)

    @app.post("/api/v1/spots", status_code=201)
    async def spot(body: SpotBody) -> dict[str, Any]:
        taken = {
            "id": f"s{len(site.spots)}",
            "t": site.t,
            "steak": body.steak,
            "celsius": body.celsius,
        }
        site.spots.append(taken)
        site.send("spot", **taken)
        return taken

    @app.patch("/api/v1/cook")
    async def cook(body: CookBody) -> dict[str, Any]:
        site.rest_on = body.rest_on
        changed: dict[str, Any] = site.snapshot()["cook"]
        site.send("cook", cook=changed)
        return changed

    @app.patch("/api/v1/steaks/{name}")
    async def steak(name: str, body: SteakBody) -> dict[str, Any]:
        site.pulls[name] = body.pull_c
        site.send("steak", **site.steak(name))
        return site.steak(name)

    @app.delete("/api/v1/marks/{name}", status_code=204)
    @app.delete("/api/v1/spots/{name}", status_code=204)
    async def undo(name: str) -> None:
        site.undo(name)

    @app.post("/api/v1/acknowledgements", status_code=201)
    async def acknowledge(body: AckBody) -> dict[str, Any]:
        for one in site.calls:
            if one["id"] == body.call:
                one["state"] = "acknowledged"
        site.send("call_state", id=body.call, state="acknowledged", by=body.by)
        return {"call": body.call}

    return app


async def serve(site: Site, socket: WebSocket) -> None:
    """Greet one page, then feed it and answer its pings until it goes."""
    queue: asyncio.Queue[dict[str, Any]] = asyncio.Queue(200)
    await socket.send_json({"type": "hello", "epoch": "fake", "seq": site.seq, "t": site.t,
                            "speed": site.speed, "resumed": False})  # fmt: skip
    await socket.send_json(site.snapshot())
    site.pages.add(queue)

    async def feed() -> None:
        while True:
            await socket.send_json(await queue.get())

    feeding = asyncio.create_task(feed())
    try:
        while True:
            ping = await socket.receive_json()
            if not site.silent:
                queue.put_nowait({"type": "pong", "n": ping["n"], "t": site.t})
    except WebSocketDisconnect:
        pass
    finally:
        site.pages.discard(queue)
        feeding.cancel()


def main() -> None:
    """Serve for trying by hand."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--at", type=float, default=0.0, help="cook seconds already passed")
    parser.add_argument("--speed", type=float, default=1.0)
    parser.add_argument("--mode", default="demo")
    parser.add_argument("--port", type=int, default=8799)
    parser.add_argument("--waiting", action="store_true", help="before the steaks go on")
    chosen = parser.parse_args()
    site = Site(chosen.at, chosen.speed, chosen.mode, cooking=not chosen.waiting)
    uvicorn.run(
        make_app(site),
        host="127.0.0.1",
        port=chosen.port,
        log_level="warning",
        ws="websockets-sansio",
    )


if __name__ == "__main__":
    main()
