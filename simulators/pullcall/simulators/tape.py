"""Every message that pages would get of a simulated cook, worked out once, to be played often."""

from __future__ import annotations

import json
from bisect import bisect_right
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any

from pullcall.core.cook import Cook
from pullcall.events import Input, Mark, Window
from pullcall.hindsight.study import steps
from pullcall.log.records import to_line
from pullcall.simulators.cookfile import inputs
from pullcall.simulators.day import MORNING, WINDOW_S
from pullcall.simulators.scenario import STARTED, Scenario
from pullcall.site.hub import Stream
from pullcall.site.view import View

Json = dict[str, Any]
#: Whoever begins in the middle begins at the snapshot before, seconds.
SNAPSHOT_S = 60.0
#: From the end of the scenario until all is handed in, and a little longer, seconds.
_AFTERWARDS_S = 300.0


@dataclass(frozen=True, slots=True)
class Said:
    """A message and when it was shown, cook seconds."""

    t: float
    message: Json


@dataclass(frozen=True, slots=True)
class Tape:
    """A whole cook. ``whole`` are its snapshots, the first at its begin; ``said`` what followed."""

    whole: tuple[Said, ...]
    said: tuple[Said, ...]
    ends_t: float

    def whole_at(self, t: float) -> Said:
        """The last snapshot at or before ``t`` cook seconds."""
        place = bisect_right(self.whole, t, key=lambda said: said.t)
        return self.whole[max(0, place - 1)]

    def after(self, t: float) -> Iterator[Said]:
        """What was said later than ``t``."""
        return iter(self.said[bisect_right(self.said, t, key=lambda said: said.t) :])


def tape_of(scenario: Scenario, waits_s: float = 0.0) -> Tape:
    """Work a cook out; its steaks wait ``waits_s`` longer before they go on.

    Costs about two seconds for each quarter of an hour of two steaks.
    """
    scenes = tuple(replace(scene, on_s=scene.on_s + waits_s) for scene in scenario.steaks)
    lasts_s = scenario.lasts_s + waits_s + _AFTERWARDS_S
    later = replace(scenario, steaks=scenes, lasts_s=lasts_s)
    first_on = min(scene.on_s for scene in scenes)
    recorder = _Recorder(Cook(replace(later.header(), window=_window(first_on))))
    for event, effects, t in steps(recorder.cook, [*_morning(first_on), *inputs(later)]):
        recorder.t = t
        if event is not None:
            recorder.view.show_input(event)
        recorder.view.show_effects(effects, t)
        recorder.look()
    return Tape(tuple(recorder.whole), tuple(recorder.said), recorder.t)


class _Recorder(Stream):
    """Takes down what a view says, and from time to time what it would tell a newcomer."""

    def __init__(self, cook: Cook) -> None:
        super().__init__()
        self.cook = cook
        self.view = View(cook, self)
        self.t = 0.0
        self.said: list[Said] = []
        self.whole: list[Said] = []
        self.look()

    def publish(self, type: str, body: Mapping[str, Any]) -> None:
        """Take a message down."""
        self.said.append(Said(self.t, _as_sent({"type": type, **body})))

    def look(self) -> None:
        """Take a snapshot where one is due."""
        if not self.whole or self.t >= self.whole[-1].t + SNAPSHOT_S:
            snapshot = {"type": "snapshot", **self.view.snapshot(self.t)}
            self.whole.append(Said(self.t, _as_sent(snapshot)))


def _as_sent(message: Mapping[str, Any]) -> Json:
    """As a page gets it: what a view changes later stays as it was."""
    sent: Json = json.loads(to_line(message))
    return sent


def _morning(on_s: float) -> Iterator[Input]:
    for kind, ago_s in MORNING:
        yield Mark(0.0, None, kind, str(kind), on_s - ago_s)


def _window(on_s: float) -> Window:
    begins = datetime.fromisoformat(STARTED) + timedelta(seconds=on_s)
    opens, closes = (begins + timedelta(seconds=s) for s in WINDOW_S)
    return Window(opens.isoformat(timespec="seconds"), closes.isoformat(timespec="seconds"))
