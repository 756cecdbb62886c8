"""Sites that say by hand what a test needs."""

from __future__ import annotations

import json
from typing import Any

from pullcall.board.roster import Roster
from pullcall.board.stamp import Stamp
from pullcall.bus import channels
from pullcall.bus.examples import EXAMPLES

Json = dict[str, Any]


class Sites:
    """A roster, its clock, and what its sites say. Cooks begin at 0 of the board's seconds."""

    def __init__(self, now: float = 480.2) -> None:
        self.roster = Roster()
        self.now = now
        self._seq = 0

    def say(self, site: str, kind: str, body: Json | None = None, **how: Any) -> None:
        """The example of a channel, changed by ``body``; ``how`` is of the stamp, or ``kept``."""
        channel = next(c for c in channels.STATE if c.name == kind)
        payload = json.dumps({**EXAMPLES[kind][0], **(body or {})}).encode()
        self.give(channel.topic(site, how.get("lane")), payload, **how)

    def give(self, topic: str, payload: bytes, **how: Any) -> None:
        """Any message."""
        self._seq += 1
        seq = how.get("seq") or self._seq
        stamp = Stamp(how.get("epoch", "e1"), seq, how.get("left_s"))
        self.roster.take(topic, payload, how.get("kept", False), stamp, self.now)

    def begin(self, site: str, phase: str = "on", **how: Any) -> None:
        """A site with one steak, with nothing due and no alarm."""
        self.say(site, "presence", {"state": "here", "name": site.title()}, **how)
        self.say(site, "pulse", {"t": self.now}, **how)
        self.say(site, "cook", {"steaks": ["left"], "window": None, "window_t": None}, **how)
        self.say(site, "steak", {"phase": phase}, lane=1, **how)

    def due(self, site: str, due_t: float, call: str = "turn") -> None:
        """The one call that is scheduled."""
        due = {"steaks": ["left"], "call": call, "due_t": due_t, "text": "Left", "priority": 2}
        self.say(site, "schedule", {"calls": [due]})

    def alarm(self, site: str, t: float, priority: int = 1, state: str = "unacknowledged") -> None:
        """The one alarm that lives."""
        alarm = {
            **EXAMPLES["call"][0], "call": "pull_now", "id": f"{site}-{priority}", "t": t,
            "in_s": None, "text": "Left: pull now", "priority": priority, "state": state,
        }  # fmt: skip
        self.say(site, "calls", {"calls": [alarm]})

    def pass_s(self, seconds: float, *silent: str) -> None:
        """Time in which all but these go on pulsing."""
        self.now += seconds
        for row in self.roster.rows(self.now):
            if row["site"] not in silent:
                self.say(row["site"], "pulse", {"t": self.now})

    def order(self) -> list[str]:
        """The sites in order."""
        return [row["site"] for row in self.roster.rows(self.now)]

    def row(self, site: str) -> Json:
        """One row."""
        return next(row for row in self.roster.rows(self.now) if row["site"] == site)
