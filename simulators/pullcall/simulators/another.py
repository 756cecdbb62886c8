"""Another cook of a scenario: other steaks, another fire, the same person on another day."""

from __future__ import annotations

from dataclasses import replace
from random import Random
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pullcall.simulators.scenario import Habits, Scenario, SteakScene

#: How far days differ, either way: invented, so that two demos can be told apart afterwards.
THICKER_MM, UNLIKE_MM, WARMER_C, HOTTER_C = 1.0, 0.2, 3.0, 16.0
SLOWER_S, LONGER, WALK_LONGER = 3.0, 0.12, 0.3


def another(scenario: Scenario, seed: int) -> Scenario:
    """The scenario on the day ``seed``; day 1 is the scenario as it is written."""
    if seed == 1:
        return replace(scenario, seed=seed)
    rng = Random(f"another/{scenario.name}/{seed}")
    warmer, hotter = rng.uniform(-WARMER_C, WARMER_C), rng.uniform(-HOTTER_C, HOTTER_C)
    thicker = rng.uniform(-THICKER_MM, THICKER_MM)
    fire = replace(
        scenario.fire,
        settled_c=scenario.fire.settled_c + hotter,
        start_c=scenario.fire.start_c + hotter,
    )
    steaks = tuple(_other_steak(scene, thicker, warmer, rng) for scene in scenario.steaks)
    habits = _other_pace(scenario.habits, rng)
    return replace(scenario, seed=seed, steaks=steaks, fire=fire, habits=habits)


def _other_steak(scene: SteakScene, thicker: float, warmer: float, rng: Random) -> SteakScene:
    """Measured with a ruler, so the cook knows how thick it is."""
    unlike = rng.uniform(-UNLIKE_MM, UNLIKE_MM)
    cut = replace(
        scene.cut,
        thickness_mm=round(scene.cut.thickness_mm + thicker + unlike, 1),
        start_c=round(scene.cut.start_c + warmer, 1),
    )
    return replace(scene, cut=cut)


def _other_pace(habits: Habits, rng: Random) -> Habits:
    least, most = habits.pull_reaction_s
    slower = rng.uniform(-min(SLOWER_S, least), SLOWER_S)
    boxed, walked = rng.uniform(-LONGER, LONGER), rng.uniform(-WALK_LONGER, WALK_LONGER)
    return replace(
        habits,
        pull_reaction_s=(least + slower, most + slower),
        boxed_s=None if habits.boxed_s is None else habits.boxed_s * (1.0 + boxed),
        handed_in_s=None if habits.handed_in_s is None else habits.handed_in_s * (1.0 + walked),
    )
