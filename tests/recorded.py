"""A short simulated cook and its recording, as `Recorder` makes it: what tests of replays share."""

from __future__ import annotations

import gzip
import json
from collections.abc import Iterable
from dataclasses import replace
from functools import cache
from typing import Any

from pullcall.events import Input, MarkKind, PlannedMark, Reading, Window
from pullcall.hindsight.facts import CookFacts, FireFacts, SteakFacts
from pullcall.log.cook_file import CookFile
from pullcall.log.replay import steps
from pullcall.simulators.kitchen import Event, Kitchen, Outcome
from pullcall.simulators.probe import ProbeSettings
from pullcall.simulators.scenario import Habits, Scenario, SteakScene
from pullcall.simulators.steak import Cut
from pullcall.site.recording import Recorder

Json = dict[str, Any]
#: Thin and not cold, so that the whole cook is over in some six minutes.
THIN = Scenario(
    "thin",
    (
        SteakScene("left", Cut(16.0, 20.0), 20.0, 53.9, 57.0, ProbeSettings(), "thin-1/0"),
        SteakScene("right", Cut(17.0, 20.0), 26.0, 53.9, 57.0, ProbeSettings(), "thin-2/0"),
    ),
    habits=Habits(
        pattern=tuple(
            PlannedMark(t, MarkKind(m)) for t, m in ((40, "turn"), (80, "flip"), (110, "turn"))
        ),
        pull_reaction_s=(6.0, 8.0),
        boxed_s=80.0,
        handed_in_s=40.0,
    ),
    lasts_s=400.0,
    grate_channel="thin-3/0",
)
#: Opens when the steaks are about to be off.
WINDOW = Window("2026-06-13T13:44:00+00:00", "2026-06-13T14:14:00+00:00")


@cache
def short_cook() -> CookFile:
    """A cook of six minutes with its marks; a channel of no steak is heard too."""
    kitchen = Kitchen(THIN)
    seen = [_told(event, i) for i, event in enumerate(kitchen.advance(THIN.lasts_s))]
    spare = [Reading(t + 0.3, None, 21.5, "spare/0") for t in range(0, 400, 4)]
    header = replace(THIN.header(), cook="thin", window=WINDOW)
    inputs = sorted([*seen, *spare], key=lambda event: event.t)
    return CookFile(header, tuple(inputs), (), ())


@cache
def short_facts() -> CookFacts:
    """What the simulator knows came true of it."""
    return CookFacts("thin", short_cook().header, 400.0, _steaks(), FireFacts(), as_called=True)


def record(cook: CookFile) -> Recorder:
    """A recorder that followed a whole cook."""
    recorder = Recorder()
    for step in steps(cook):
        recorder(step.event, step.effects, step.t, step.cook)
    return recorder


@cache
def short_recording() -> bytes:
    """The recording of the short cook, as a site sends it."""
    return record(short_cook()).gzipped(short_facts())


def messages(recording: bytes) -> list[Json]:
    """Its lines."""
    return [json.loads(line) for line in gzip.decompress(recording).splitlines()]


def of(kind: str, all: Iterable[Json]) -> list[Json]:
    """The messages of one type."""
    return [one for one in all if one["type"] == kind]


def _told(event: Event, number: int) -> Input:
    """As a live site would have logged it."""
    if isinstance(event, Reading):
        steak = {scene.channel: scene.steak for scene in THIN.steaks}.get(event.channel)
        return replace(event, steak=steak)
    return replace(event, id=f"m{number}")


def _steaks() -> tuple[SteakFacts, ...]:
    kitchen = Kitchen(THIN)
    kitchen.advance(THIN.lasts_s)
    found = {scene.steak: kitchen.outcome(scene.steak) for scene in THIN.steaks}
    return tuple(
        _facts(found[one.steak], SteakFacts(one.steak, one)) for one in THIN.header().steaks
    )


def _facts(found: Outcome, steak: SteakFacts) -> SteakFacts:
    return replace(
        steak,
        off_t=found.pull_s,
        cross_t=found.cross_s,
        off_c=54.6,
        peak_t=found.peak_s,
        peak_c=found.peak_c,
    )
