"""Series of five simulated cooks: one cook at one grill, with the probes and habits of one person.

What stays the same within a series (the grill, its fire, how deep the probes go, how slow they
are) differs from series to series; meat, weather and the day's fire differ from cook to cook.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from random import Random

from pullcall.events import CookHeader, Input, Reading
from pullcall.simulators.fire import FireSettings
from pullcall.simulators.kitchen import Event, Kitchen, Outcome
from pullcall.simulators.probe import ProbeSettings
from pullcall.simulators.scenario import Habits, Scenario, SteakScene
from pullcall.simulators.steak import TRANSPORT, Cut

COOKS = 5
#: Readings go on so long after the last steak came off: past every peak, seconds.
RESTS_S = 420.0


@dataclass(frozen=True, slots=True)
class _Person:
    """What a series has in common."""

    settled_c: float
    wander_c: float
    drift_c_per_min: float
    transport: float
    air_c: float
    depth: float
    lag_s: float
    thick_mm: float
    pull_c: float
    probe: ProbeSettings
    habits: Habits


@dataclass(frozen=True, slots=True)
class SimulatedCook:
    """A cook with its truth by steak."""

    header: CookHeader
    events: tuple[Input, ...]
    truths: dict[str, Outcome]


def series(number: int) -> tuple[SimulatedCook, ...]:
    """The ``number``-th series, its cooks in order."""
    person = _person(Random(f"series/{number}"))
    return tuple(_cooked(_scenario(person, number, cook)) for cook in range(COOKS))


def _person(rng: Random) -> _Person:
    reaction_s = rng.uniform(0.5, 6.0)
    return _Person(
        settled_c=rng.uniform(255.0, 330.0),
        wander_c=rng.uniform(4.0, 15.0),
        drift_c_per_min=rng.uniform(-2.0, 1.0),
        transport=TRANSPORT * rng.uniform(0.88, 1.12),
        air_c=rng.uniform(8.0, 32.0),
        depth=0.5 + rng.gauss(0.0, 0.05),
        lag_s=rng.uniform(2.0, 8.0),
        thick_mm=rng.uniform(26.0, 38.0),
        pull_c=rng.choice((52.5, 53.9, 55.0)),
        probe=ProbeSettings(
            resolution_c=rng.choice((0.1, 0.1, 0.5, 5.0 / 9.0)),
            noise_c=rng.uniform(0.03, 0.2),
            interval_s=rng.choice((1.0, 2.0)),
            gap_chance=0.003,
            gap_s=8.0,
            spike_chance=0.002,
        ),
        habits=Habits(
            rest_on=rng.choice(("rack", "board")),
            pull_reaction_s=(0.7 * reaction_s, 1.3 * reaction_s),
        ),
    )


def _scenario(person: _Person, number: int, cook: int) -> Scenario:
    rng = Random(f"series/{number}/{cook}")
    settled_c = person.settled_c + rng.gauss(0.0, 10.0)
    fire = FireSettings(
        settled_c=settled_c,
        start_c=settled_c + rng.uniform(-15.0, 10.0),
        drift_c_per_min=person.drift_c_per_min + rng.gauss(0.0, 0.4),
        wander_c=person.wander_c,
    )
    scenes = tuple(
        _scene(person, rng, name, on_s) for name, on_s in (("left", 30.0), ("right", 37.0))
    )
    air_c = person.air_c + rng.gauss(0.0, 4.0)
    name = f"series-{number}-{cook}"
    return Scenario(name, scenes, cook, fire, person.habits, air_c, lasts_s=2_400.0)


def _scene(person: _Person, rng: Random, name: str, on_s: float) -> SteakScene:
    thick_mm = person.thick_mm + rng.gauss(0.0, 2.0)
    probe = replace(
        person.probe,
        depth_mm=thick_mm * (person.depth + rng.gauss(0.0, 0.03)),
        lag_s=person.lag_s * rng.uniform(0.85, 1.15),
    )
    cut = Cut(thick_mm, rng.uniform(4.0, 12.0), transport=person.transport * rng.gauss(1.0, 0.03))
    return SteakScene(name, cut, on_s, person.pull_c, probe=probe, channel=f"{name}/0")


def _cooked(scenario: Scenario) -> SimulatedCook:
    kitchen = Kitchen(scenario)
    seen = list(kitchen.advance(60.0))
    names, now = [scene.steak for scene in scenario.steaks], 60.0
    while now < scenario.lasts_s and now < _until(kitchen, names):
        now += 30.0
        seen += kitchen.advance(now)
    truths = {name: kitchen.outcome(name) for name in names}
    return SimulatedCook(scenario.header(), tuple(_assigned(event) for event in seen), truths)


def _until(kitchen: Kitchen, names: list[str]) -> float:
    """The end of the rest, cook seconds; infinite while a steak is on."""
    pulls = [kitchen.outcome(name).pull_s for name in names]
    return max((p + RESTS_S if p is not None else float("inf")) for p in pulls)


def _assigned(event: Event) -> Input:
    if isinstance(event, Reading) and event.channel is not None:
        return replace(event, steak=event.channel.removesuffix("/0"))
    return event
