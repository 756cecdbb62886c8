"""Whether the forecast of a cook that was killed again and again stays what it would have been.

Every value the probes sent, those of the stops included, goes through the same core with the same
marks and settings and without a restart; that forecast's own band is the measure.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from pullcall.core.cook import Cook
from pullcall.events import Forecast, Input, Quantiles, Reached, Reading, Restart
from pullcall.log.cook_file import CookFile
from tests.crash.feed import Sent, channel

#: Forecasts by steak and moment.
Told = dict[tuple[str, float], Forecast]


@dataclass(frozen=True, slots=True)
class Within:
    """Of ``count`` forecasts ``inside`` lay inside the band; the worst was ``worst`` beyond it."""

    count: int
    inside: int
    worst: float

    def words(self, unit: str) -> str:
        """As people read it."""
        share = 100.0 * self.inside / self.count if self.count else 100.0
        return (
            f"{share:.1f} % of {self.count} inside, the worst {self.worst:.1f} {unit} outside of it"
        )


def uninterrupted(cook: CookFile, sent: Iterable[Sent], zero: float) -> Told:
    """The forecasts of the same cook had nobody ever killed the daemon; ``zero`` is monotonic."""
    steaks = {s.channel: s.steak for s in cook.header.steaks}
    given = [e for e in cook.inputs if not isinstance(e, Reading | Restart | Reached)]
    readings = [
        Reading(round(one.at - zero, 3), steaks.get(name), one.celsius, name)
        for one in sent
        if (name := channel(one.device)) and 0.0 <= one.at - zero <= cook.ends_t
    ]
    core = Cook(cook.header)
    told: Told = {}
    for event in sorted([*given, *readings], key=_when):
        told |= _forecasts(core.apply(event))
    return told | _forecasts(core.advance(cook.ends_t))


def compare(heard: Iterable[dict[str, Any]], told: Told) -> tuple[Within, Within]:
    """The medians that pages were shown against the bands: of the pull (s), of the peak (C)."""
    pulls: list[float] = []
    peaks: list[float] = []
    for message in heard:
        same = told.get((message["steak"], message["t"]))
        if same is not None:
            pulls += _outside(message["pull_in_s"], same.pull_in_s)
            peaks += _outside(message["peak_c"], same.peak_c)
    return _within(pulls), _within(peaks)


def _outside(shown: dict[str, float] | None, band: Quantiles | None) -> list[float]:
    """How far a median lies outside a band; nothing where either is not told."""
    if shown is None or band is None:
        return []
    median = shown["p50"]
    return [max(0.0, band.p10 - median, median - band.p90)]


def _within(outside: list[float]) -> Within:
    return Within(len(outside), outside.count(0.0), max(outside, default=0.0))


def _forecasts(effects: Iterable[object]) -> Told:
    return {(e.steak, e.t): e for e in effects if isinstance(e, Forecast)}


def _when(event: Input) -> float:
    return event.t
