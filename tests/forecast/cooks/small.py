"""Small simulated cooks, ways to spoil them, and what an engine says of them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from functools import cache

import numpy as np

from pullcall.events import CookHeader, Forecast, Mark, MarkKind, Reading, Setting, Spot
from pullcall.forecast.engine import ForecastEngine
from pullcall.simulators.kitchen import Kitchen, Outcome
from pullcall.simulators.probe import ProbeSettings
from pullcall.simulators.scenario import Habits, Scenario, SteakScene
from pullcall.simulators.steak import Cut

Event = Reading | Spot | Mark | Setting
#: A good probe in the middle of a steak of usual thickness.
GOOD = ProbeSettings(noise_c=0.1, interval_s=1.0)
PULL_C = 53.9


def scene(
    name: str, thick_mm: float = 30.0, probe: ProbeSettings | None = GOOD, start_c: float = 10.0
) -> SteakScene:
    """One steak with its probe on a channel of its own."""
    return SteakScene(name, Cut(thick_mm, start_c), 20.0, PULL_C, 57.0, probe, f"{name}/0")


ONE = Scenario("one", (scene("left"),), seed=3, lasts_s=1_300.0)
TWO = Scenario("two", (scene("left"), scene("right", 33.0)), seed=4)
SPOTS = Scenario(
    "spots",
    (scene("left", probe=None), scene("right", 33.0, None)),
    seed=5,
    habits=Habits(spots_s=(380.0, 450.0, 520.0)),
)


@cache
def cooked(scenario: Scenario) -> tuple[tuple[Event, ...], dict[str, Outcome]]:
    """The events of a scenario, readings assigned to their steaks, and what really happened."""
    kitchen = Kitchen(scenario)
    seen = kitchen.advance(scenario.lasts_s)
    outcomes = {s.steak: kitchen.outcome(s.steak) for s in scenario.steaks}
    return tuple(_assigned(event) for event in seen), outcomes


def _assigned(event: Reading | Spot | Mark) -> Event:
    if isinstance(event, Reading) and event.channel is not None:
        return replace(event, steak=event.channel.removesuffix("/0"))
    return event


def crossing(scenario: Scenario, steak: str = "left") -> float:
    """When the core reached the pull temperature, s."""
    found = cooked(scenario)[1][steak].cross_s
    assert found is not None
    return found


def told(
    header: CookHeader, events: Iterable[Event], times: Sequence[float], steak: str = "left"
) -> list[Forecast]:
    """The forecast of ``steak`` at each of ``times``, from the events up to it."""
    engine, due, found = ForecastEngine(header), list(times), list[Forecast]()
    for event in events:
        while due and due[0] < event.t:
            found.append(engine.forecast(steak, due.pop(0)))
        if not due:
            return found
        engine.update(event)
    return found + [engine.forecast(steak, t) for t in due]


def reread(
    events: Iterable[Event], change: Callable[[Reading], Reading | None], since: float
) -> list[Event]:
    """The events with readings from ``since`` on changed, or left out where it gives None."""
    out = list[Event]()
    for event in events:
        made = change(event) if isinstance(event, Reading) and event.t >= since else event
        if made is not None:
            out.append(made)
    return out


def without(events: Iterable[Event], kind: MarkKind) -> list[Event]:
    """The events without marks of ``kind``."""
    return [event for event in events if not (isinstance(event, Mark) and event.mark is kind)]


def by_hand(curve: Callable[[float], float], until: float, every: float = 1.0) -> list[Event]:
    """On at 0, then readings of ``curve`` with a fixed little noise; nothing else is marked."""
    rng = np.random.default_rng(11)
    times = np.arange(every, until, every)
    noise = rng.normal(0.0, 0.1, len(times))
    readings = [
        Reading(float(t), "left", round(curve(float(t)) + float(off), 1))
        for t, off in zip(times, noise, strict=True)
    ]
    early = [Reading(float(t), "left", round(curve(0.0), 1)) for t in range(-8, 0)]
    return [*early, Mark(0.0, "left", MarkKind.ON), *readings]
