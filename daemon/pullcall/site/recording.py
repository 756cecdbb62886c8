"""A cook that is over as one file that a page plays: every message that pages would have received,
made by the very core and view that run live, and a snapshot each minute to begin from.

The same cook always gives the same bytes: no clock, no chance and no epoch is in them.
"""

from __future__ import annotations

import gzip
import math
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from pullcall.core.cook import Cook, Effect
from pullcall.core.phase import Phase
from pullcall.events import Call, Input, Mark, Reading
from pullcall.hindsight.facts import CookFacts, SteakFacts
from pullcall.log.records import to_line
from pullcall.site.hub import Stream
from pullcall.site.thinning import Thinning
from pullcall.site.view import View

Json = dict[str, Any]
#: To be anywhere, a page begins at the snapshot before and takes the messages up to there.
_SNAPSHOT_S = 60.0
#: The highest level takes twice as long and saves two bytes in a hundred (measured here).
_COMPRESSION = 6
#: Of the surroundings of a cook that is over nothing is told.
_AROUND: Json = {"probes": [], "adapter": None, "readiness": [], "outlets": []}

#: A recording goes on for so long once all is handed in, s.
_AFTERWARDS_S = 60.0


class Recorder:
    """Follows a cook as it is worked out anew, each second and each input as a step of its own.

    Called after every step with the input (None for a second that went by), what followed, the
    step's time ``t`` in cook seconds, and the cook as it stands then.
    """

    def __init__(self) -> None:
        self._tape = _Tape()
        self._thinning = Thinning()
        self._view: View | None = None
        self._starts = self._ends = 0.0
        self._snapped, self._over_t = -math.inf, math.inf
        self._said: dict[str, Call] = {}

    def __call__(self, event: Input | None, effects: list[Effect], t: float, cook: Cook) -> None:
        """Take a step down."""
        if t > self._over_t + _AFTERWARDS_S:
            return
        if cook.is_over():
            self._over_t = min(self._over_t, t)
        if self._view is None:
            self._view, self._starts = View(cook, self._tape), t
        self._tape.t = self._ends = t
        self._show(self._view, event, effects, t)
        for call in effects:
            if isinstance(call, Call):
                self._said.setdefault(call.id, call)
        if t >= self._snapped + _SNAPSHOT_S:
            self._snapped = math.floor(t / _SNAPSHOT_S) * _SNAPSHOT_S
            self._tape.publish("snapshot", self.snapshot())

    def snapshot(self) -> Json:
        """The cook as it stood after the last step; its curves are the readings before."""
        assert self._view is not None, "nothing was followed"
        shown = self._view.snapshot(self._ends)
        steaks = [{k: v for k, v in steak.items() if k != "curve"} for steak in shown["steaks"]]
        return {**shown, "mode": "replay", "speed": 1, "steaks": steaks, **_AROUND}

    def lines(self, facts: CookFacts) -> Iterator[str]:
        """What it is, then its messages; the last is the snapshot of its end."""
        assert self._view is not None, "nothing was followed"
        head = {
            "type": "recording",
            "cook": facts.cook,
            "starts_t": self._starts,
            "ends_t": self._ends,
            "stops": _stops(self._view.cook.history.marks(), self._said.values(), self._starts),
            "truth": [_truth(steak) for steak in facts.steaks],
            "as_called": facts.as_called,
        }
        yield to_line(head)
        yield from self._tape.lines()
        yield _line("snapshot", self._ends, self.snapshot())

    def gzipped(self, facts: CookFacts) -> bytes:
        """The file as it is kept and sent: gzip of its lines."""
        text = "".join(f"{line}\n" for line in self.lines(facts))
        return gzip.compress(text.encode(), _COMPRESSION, mtime=0)

    def _show(self, view: View, event: Input | None, effects: list[Effect], t: float) -> None:
        if isinstance(event, Reading):
            self._show_reading(event, view)
        elif event is not None:
            view.show_input(event)
        view.show_effects(effects, t)

    def _show_reading(self, reading: Reading, view: View) -> None:
        """One of no steak is shown nowhere; of a waiting one, what shows nothing new goes."""
        steak = view.cook.steaks.get(reading.steak or "")
        if steak is None:
            return
        place = self._tape.end
        view.show_input(reading)
        gone = self._thinning.read(reading, place, steak.phase is Phase.WAITING)
        if gone is not None:
            self._tape.drop(gone)


class _Tape(Stream):
    """The messages of a view as lines, each with the moment ``t`` at which it was shown."""

    def __init__(self) -> None:
        super().__init__()
        self.t = 0.0
        self._begin: int | None = None  # the place of the first snapshot
        self._lines: list[str | None] = []

    @property
    def end(self) -> int:
        """The place of the next line."""
        return len(self._lines)

    def publish(self, type: str, body: Mapping[str, Any]) -> None:
        """Write a message down."""
        if type == "snapshot" and self._begin is None:
            self._begin = self.end
        self._lines.append(_line(type, self.t, body))

    def drop(self, place: int) -> None:
        """Leave out what stands at ``place``."""
        self._lines[place] = None

    def lines(self) -> Iterator[str]:
        """What was written from the first snapshot on, which tells all that was before it."""
        return (line for line in self._lines[self._begin :] if line is not None)


def _line(type: str, t: float, body: Mapping[str, Any]) -> str:
    return to_line({"type": type, "t_rx": t, **body})


def _stops(marks: Iterable[Mark], said: Iterable[Call], starts: float) -> list[Json]:
    """The moments worth going to: every mark that stands, every call when it was first made."""
    stops = [_stop(max(m.happened, starts), "mark", str(m.mark), m.steak) for m in marks]
    for call in said:
        steak = call.steaks[0] if len(call.steaks) == 1 else None
        stops.append(_stop(call.t, "call", call.text, steak, call.priority))
    return sorted(stops, key=lambda stop: float(stop["t"]))


def _stop(t: float, kind: str, label: str, steak: str | None, priority: int | None = None) -> Json:
    return {"t": t, "kind": kind, "label": label, "steak": steak, "priority": priority}


def _truth(steak: SteakFacts) -> Json:
    """What came true of a steak; its curve is the readings themselves."""
    names = ("steak", "cross_t", "off_t", "off_c", "peak_t", "peak_c")
    return {name: getattr(steak, name) for name in names}
