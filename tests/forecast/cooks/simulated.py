"""A fixed set of simulated cooks with their truth: the same at every run, none of real meat."""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from random import Random

from pullcall.events import CookHeader, Input, Reading
from pullcall.log.cook_file import read_cook_file
from pullcall.simulators.fire import FireSettings
from pullcall.simulators.kitchen import Event, Kitchen
from pullcall.simulators.probe import ProbeSettings
from pullcall.simulators.scenario import Habits, Scenario, SteakScene
from pullcall.simulators.steak import TRANSPORT, Cut

HERE = Path(__file__).parent
COOKS = 12


@dataclass(frozen=True, slots=True)
class Truth:
    """What happened to one steak: seconds since the cook's zero, and Celsius."""

    steak: str
    cross_s: float
    pull_s: float
    peak_c: float


@dataclass(frozen=True, slots=True)
class KnownCook:
    """A cook whose truth is known."""

    header: CookHeader
    events: tuple[Input, ...]
    truths: tuple[Truth, ...]


@cache
def own_cooks() -> tuple[KnownCook, ...]:
    """Twelve cooks of two steaks by the project's own simulator."""
    return tuple(_cooked(varied(number)) for number in range(COOKS))


@cache
def copied_cooks() -> tuple[KnownCook, ...]:
    """Twelve cooks of two steaks by an independent three-dimensional model."""
    return tuple(_copied(path) for path in sorted(HERE.glob("cook_*.jsonl")))


def varied(number: int) -> Scenario:
    """The ``number``-th scenario: meat, fire, probe and habits all vary."""
    rng = Random(f"varied/{number}")
    pull_c = rng.choice((52.5, 53.9, 55.0))
    transport = TRANSPORT * rng.uniform(0.9, 1.1)
    scenes = tuple(
        _scene(rng, name, on_s, pull_c, transport) for name, on_s in (("left", 30.0), ("right", 37))
    )
    settled_c = rng.uniform(265.0, 320.0)
    fire = FireSettings(
        settled_c=settled_c,
        start_c=settled_c + rng.uniform(-15.0, 10.0),
        drift_c_per_min=rng.uniform(-2.0, 1.0),
        wander_c=rng.uniform(4.0, 15.0),
    )
    habits = Habits(rest_on=rng.choice(("rack", "board")))
    air_c = rng.uniform(12.0, 30.0)
    return Scenario(f"varied-{number}", scenes, number, fire, habits, air_c, lasts_s=2_000.0)


def _scene(rng: Random, name: str, on_s: float, pull_c: float, transport: float) -> SteakScene:
    thick_mm = rng.uniform(24.0, 42.0)
    probe = ProbeSettings(
        depth_mm=thick_mm * (0.5 + rng.gauss(0.0, 0.06)),
        lag_s=rng.uniform(2.0, 8.0),
        resolution_c=rng.choice((0.1, 0.1, 0.5, 5.0 / 9.0)),
        noise_c=rng.uniform(0.03, 0.2),
        interval_s=rng.choice((1.0, 2.0, 2.0)),
        gap_chance=0.003,
        gap_s=8.0,
        spike_chance=0.002,
    )
    cut = Cut(thick_mm, rng.uniform(4.0, 15.0), transport=transport)
    return SteakScene(name, cut, on_s, pull_c, probe=probe, channel=f"{name}/0")


def _cooked(scenario: Scenario) -> KnownCook:
    kitchen, truths = Kitchen(scenario), list[Truth]()
    seen = kitchen.advance(scenario.lasts_s)
    for scene in scenario.steaks:
        found = kitchen.outcome(scene.steak)
        assert found.cross_s is not None
        assert found.pull_s is not None
        truths.append(Truth(scene.steak, found.cross_s, found.pull_s, found.peak_c))
    until = max(truth.pull_s for truth in truths) + 120.0
    events = tuple(_assigned(event) for event in seen if event.t <= until)
    return KnownCook(scenario.header(), events, tuple(truths))


def _assigned(event: Event) -> Input:
    if isinstance(event, Reading) and event.channel is not None:
        return replace(event, steak=event.channel.removesuffix("/0"))
    return event


def _copied(path: Path) -> KnownCook:
    told = json.loads((HERE / "truth" / f"{path.stem}.json").read_text(encoding="utf-8"))
    truths = tuple(
        Truth(s["steak"], s["cross_s"], s["pull_s"], s["peak_c"]) for s in told["steaks"]
    )
    cook = read_cook_file(path)
    assert not cook.broken
    return KnownCook(cook.header, cook.inputs, truths)
