"""A small site that speaks the stream's contract, for trying the page on its own.

The steaks warm along a straight line; nothing here forecasts or plans, it only plays a script.
"""

from __future__ import annotations

import asyncio
import math
import threading
import time
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from tests.page.fake_access import Access, stripped
from tests.page.fake_logbook import Logbook
from tests.page.inbox import END, Inbox

PAGE = Path(__file__).parents[2] / "api" / "pullcall" / "api" / "page"
STEAKS = ("left", "right")
PLAN = [{"t": 120, "mark": "turn"}, {"t": 240, "mark": "flip"}, {"t": 330, "mark": "turn"}]
RISE_C_PER_S = 0.095
START_C = 8.0
PULL_C = 53.9
TARGET_C = 57.2
STARTED = "2026-06-13T13:40:00Z"
HEARD = {"name": "heard", "ok": True, "words": "Calls are heard", "celsius": None}
PHASE_AFTER = {"on": "on", "off": "resting", "boxed": "boxed", "handed_in": "handed_in"}


@dataclass
class Site:
    """The script's state. Tests set ``silent`` and add calls and schedule entries.

    Its clock stands at ``at`` until somebody is shown the cook: however long a browser takes to
    open the page, the script is where the test wants it.
    """

    at: float = 0.0
    speed: float = 1.0
    mode: str = "live"
    banner: str | None = None
    cooking: bool = True
    silent: bool = False
    hanging: bool = False  # requests are taken and never answered
    seq: int = 0
    marks: list[dict[str, Any]] = field(default_factory=list)
    spots: list[dict[str, Any]] = field(default_factory=list)
    calls: list[dict[str, Any]] = field(default_factory=list)
    schedule: list[dict[str, Any]] = field(default_factory=list)
    why: str | None = None
    more: dict[str, Any] = field(default_factory=dict)  # of every forecast
    names: tuple[str, ...] = STEAKS
    ends_t: float | None = None
    spread: float = 0.1  # of the pull forecast, as a share of its middle
    probed: bool = True
    has_charts: bool = False  # whether the page gets the chart library
    recordings: dict[str, bytes] = field(default_factory=dict)  # by the cook's id
    is_holding: bool = False  # the second half of a recording
    cook: dict[str, Any] = field(default_factory=dict)
    settings: dict[str, dict[str, Any]] = field(default_factory=dict)
    plan: dict[str, Any] | None = None
    fire: dict[str, Any] | None = None
    proposals: list[dict[str, Any]] = field(default_factory=list)
    readiness: list[dict[str, Any]] = field(default_factory=lambda: [dict(HEARD)])
    outlets: list[dict[str, Any]] = field(default_factory=list)
    unread: float | None = None  # when the probes fell silent: the forecasts go on
    phones: list[dict[str, Any]] = field(default_factory=list)
    receipts: list[dict[str, Any]] = field(default_factory=list)
    shelvings: list[dict[str, Any]] = field(default_factory=list)
    answers: list[dict[str, Any]] = field(default_factory=list)
    begun: int = 0  # new cooks
    cook_changes: list[dict[str, Any]] = field(default_factory=list)
    clips: dict[str, bytes] = field(default_factory=dict)  # WAV files by id
    clips_asked: list[str] = field(default_factory=list)
    access: Access = field(default_factory=Access)
    logbook: Logbook = field(default_factory=Logbook)
    readers: dict[Inbox, str] = field(default_factory=dict)  # pages, and their cookies
    zero: float | None = None  # of its clock; None: it stands
    #: The test's thread and the server's change and send in turn: pages pass over what comes out
    #: of order, and what they are shown at first has to fit to what follows.
    turn: threading.RLock = field(default_factory=threading.RLock)

    def __post_init__(self) -> None:
        if self.cooking:
            self.take("on", "left", ago_s=self.at)
            if "right" in self.names:
                self.take("on", "right", ago_s=self.at - min(6.0, self.at))

    @property
    def t(self) -> float:
        if self.zero is None:
            return self.at
        return (time.monotonic() - self.zero) * self.speed

    def begin(self) -> None:
        """Let the clock go, if it stands."""
        with self.turn:
            if self.zero is None:
                self.zero = time.monotonic() - self.at / self.speed

    def greet(self, page: Inbox, cookie: str) -> None:
        """Show a page how all stands; what is sent from then on reaches it, too."""
        self.begin()
        hello = {"type": "hello", "epoch": "fake", "speed": self.speed, "resumed": False}
        with self.turn:
            shown = self.seen_by(cookie, self.snapshot()) or {}
            page.put({**hello, "seq": self.seq, "t": self.t}, shown)
            self.readers[page] = cookie

    def forget(self, page: Inbox) -> None:
        """The page has gone."""
        with self.turn:
            self.readers.pop(page, None)

    def send(self, kind: str, **fields: Any) -> None:
        self.send_all((kind, fields))

    def send_all(self, *messages: tuple[str, dict[str, Any]]) -> None:
        """Send messages, none of others between them."""
        with self.turn:
            numbered = [self.numbered(kind, fields) for kind, fields in messages]
            for page, cookie in self.readers.items():
                seen = [self.seen_by(cookie, one) for one in numbered]
                page.put(*(one for one in seen if one is not None))

    def numbered(self, kind: str, fields: dict[str, Any]) -> dict[str, Any]:
        self.seq += kind != "tick"
        return {"type": kind, **({} if kind == "tick" else {"seq": self.seq}), **fields}

    def seen_by(self, cookie: str | None, message: dict[str, Any]) -> dict[str, Any] | None:
        """The message as somebody is shown it."""
        return stripped(message) if self.access.visitor(cookie)["hides_targets"] else message

    def revoke(self, id: str) -> None:
        """End a pairing or an invitation, and the streams of its phones."""
        with self.turn:
            ended = self.access.revoke(id)
            for page, cookie in self.readers.items():
                if cookie in ended:
                    page.put(END)

    def take(self, mark: str, steak: str | None, ago_s: float = 0) -> dict[str, Any]:
        with self.turn:
            at = round(self.t - ago_s, 3)
            taken = {"id": f"m{self.seq}-{len(self.marks)}", "t": at, "at": at, "steak": steak,
                     "mark": mark}  # fmt: skip
            self.marks.append(taken)
            self.send("mark", **taken)
            self.send_steaks()
        return taken

    def spot(self, spot: dict[str, Any]) -> dict[str, Any]:
        with self.turn:
            self.spots.append(spot)
            self.send("spot", **spot)
        return spot

    def undo(self, name: str) -> None:
        with self.turn:
            self.marks = [one for one in self.marks if one["id"] != name]
            self.spots = [one for one in self.spots if one["id"] != name]
            self.send("undo", t=self.t, id=name)
            self.send_steaks()

    def begin_anew(self) -> None:
        """Another cook."""
        with self.turn:
            self.marks = []
            self.send_steaks()
            self.begun += 1

    def call(
        self,
        name: str,
        steaks: list[str],
        text: str,
        priority: int = 1,
        in_s: float = 0,
        **more: Any,
    ) -> dict[str, Any]:
        """Announce; ``t`` and ``id`` of a repeat go into ``more``."""
        (made,) = self.call_all(
            {"call": name, "steaks": steaks, "text": text, "priority": priority, "in_s": in_s,
             **more}
        )  # fmt: skip
        return made

    def call_all(self, *calls: dict[str, Any]) -> list[dict[str, Any]]:
        """Announce the calls of one moment."""
        with self.turn:
            t = self.t
            usual = {"t": t, "in_s": 0, "priority": 1, "insistent": False,
                     "state": "unacknowledged"}  # fmt: skip
            number = len(self.calls)
            made = [{"id": f"c{number + i}", **usual, **one} for i, one in enumerate(calls)]
            ids = {one["id"] for one in made}
            self.calls = [*(one for one in self.calls if one["id"] not in ids), *made]
            self.send_all(*(("call", one) for one in made))
        return made

    def set_state(self, call: str, state: str, by: str = "") -> None:
        with self.turn:
            for one in self.calls:
                if one["id"] == call:
                    one["state"] = state
            self.send("call_state", t=self.t, id=call, state=state, by=by)

    def propose(self, *proposals: dict[str, Any]) -> None:
        with self.turn:
            self.proposals = list(proposals)
            self.send("proposals", proposals=self.proposals)

    def plan_calls(self, *entries: dict[str, Any]) -> None:
        """Change the schedule, and tell."""
        with self.turn:
            self.schedule = list(entries)
            self.send("schedule", calls=self.schedule)

    def show(self, name: str, value: Any) -> None:
        """Change the plan or the fire, and tell."""
        with self.turn:
            setattr(self, name, value)
            self.send(name, **{name: value})

    def show_readiness(self, *checks: dict[str, Any]) -> None:
        with self.turn:
            self.readiness = list(checks)
            self.send("site", readiness=self.readiness, outlets=self.outlets)

    def change_cook(self, change: dict[str, Any]) -> dict[str, Any]:
        known = {k: v for k, v in change.items() if k not in ("window", "durations")}
        if "window" in change:
            opens, _, closes = (change["window"] or "").partition("-")
            known["window"] = {"opens": opens, "closes": closes} if opens else None
            known["window_t"] = [1200.0, 3000.0] if opens else None
        with self.turn:
            self.cook_changes.append(change)
            self.cook = {**self.cook, **known}
            self.send("cook", cook=self.cook_now())
            return self.cook_now()

    def change_steak(self, name: str, change: dict[str, Any]) -> dict[str, Any]:
        with self.turn:
            self.settings = {**self.settings, name: {**self.settings.get(name, {}), **change}}
            self.send("steak", **self.steak(name))
            return self.steak(name)

    def cook_now(self) -> dict[str, Any]:
        usual = {"id": "c", "started": STARTED, "rest_on": "rack", "carry_over": "forecast",
                 "plan": PLAN, "window": None, "window_t": None, "aim_share": 0.33,
                 "offset_s": 0, "durations": {}, "simulated": False,
                 "fire": {"channel": None, "floor_c": 260.0, "ceiling_c": 398.9}}  # fmt: skip
        return {**usual, **self.cook}

    def send_steaks(self) -> None:
        with self.turn:
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
                "pull_c": PULL_C, "target_c": TARGET_C, "pull_by": "temperature", "shift_c": 0.0,
                "look": "", "thickness_mm": 32.0, "start_c": START_C,
                "channel": f"{name}-probe" if self.probed else None, "next": after or None,
                "reading": self.reading(name) if self.probed else None,
                "forecast": self.forecast(name) if on is not None else None,
                **self.settings.get(name, {})}  # fmt: skip

    def reading(self, name: str) -> dict[str, float]:
        t = self.t if self.unread is None else self.unread
        return {"t": round(t, 2), "celsius": round(self.core(name, t), 2)}

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
                "why": self.why, **self.more}  # fmt: skip

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
            "cook": self.cook_now(),
            "steaks": [{**self.steak(name), "curve": self.curve(name)} for name in self.names],
            "marks": list(self.marks),
            "spots": list(self.spots),
            "calls": [dict(one) for one in self.calls],
            "schedule": self.schedule,
            "probes": [self.probe(name) for name in self.names],
            "adapter": {"name": "hci0", "state": "up", "note": None},
            "fire": self.fire,
            "plan": self.plan,
            "proposals": self.proposals,
            "readiness": self.readiness,
            "outlets": self.outlets,
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
            "is_grate": False,
        }

    async def play(self) -> None:
        """Send what a real site sends each second, until cancelled."""
        while True:
            await asyncio.sleep(0.5)
            if self.silent:
                continue
            with self.turn:
                self.send_news()

    def send_news(self) -> None:
        t = self.t
        self.send("tick", t=t if self.ends_t is None else min(t, self.ends_t))
        for name in self.names:
            if self.probed and self.unread is None:
                read = {"channel": f"{name}-probe", "celsius": self.core(name, t)}
                self.send("reading", t=t, steak=name, **read)
            if self.steak(name)["phase"] in ("on", "resting"):
                self.send("forecast", **self.forecast(name))
