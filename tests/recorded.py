"""A short simulated cook and its recording, as `Recorder` makes it: what tests of replays share."""

from __future__ import annotations

import gzip
import json
from collections.abc import Iterable
from dataclasses import replace
from functools import cache
from typing import Any

from pullcall.events import Input, MarkKind, PlannedMark, Reading, Window
from pullcall.hindsight.facts import CookFacts
from pullcall.hindsight.study import study
from pullcall.log.cook_file import CookFile
from pullcall.simulators.kitchen import Event, Kitchen
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


def studied(cook: CookFile) -> tuple[Recorder, CookFacts]:
    """A recorder that followed a whole cook, and what is known of it."""
    recorder = Recorder()
    facts = study(cook, follow=[recorder])
    return recorder, facts


@cache
def short_facts() -> CookFacts:
    """What is known of the short cook."""
    return _short()[1]


@cache
def short_recording() -> bytes:
    """Its recording, as a site sends it."""
    recorder, facts = _short()
    return recorder.gzipped(facts)


@cache
def _short() -> tuple[Recorder, CookFacts]:
    return studied(short_cook())


def bare_recording() -> bytes:
    """The recording of a cook of nothing but its settings."""
    recorder, facts = studied(CookFile(THIN.header(), (), (), ()))
    return recorder.gzipped(facts)


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
