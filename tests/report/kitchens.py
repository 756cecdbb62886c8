"""Facts of simulated cooks that differ by one known thing, straight from the kitchen."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

from pullcall.events import Mark, MarkKind, Reading
from pullcall.hindsight.facts import CookFacts, DoneMark, FireFacts, SteakFacts
from pullcall.simulators.fire import FireSettings
from pullcall.simulators.kitchen import Kitchen
from pullcall.simulators.probe import ProbeSettings
from pullcall.simulators.scenario import Habits, Scenario, SteakScene
from pullcall.simulators.steak import Cut

PULL_C = 53.9
GRATE_C = 285.0
_GRATE = "grate/0"


def scenario(
    thick_mm: float = 32.0,
    start_c: float = 6.0,
    grate_c: float = GRATE_C,
    reaction_s: float = 3.0,
    pull_c: float = PULL_C,
    seed: int = 3,
) -> Scenario:
    """One steak over a steady fire, by a cook whose hands are always as quick."""
    probe = ProbeSettings(noise_c=0.05, interval_s=1.0)
    scene = SteakScene("left", Cut(thick_mm, start_c), 20.0, pull_c, 57.0, probe, "left/0")
    fire = FireSettings(settled_c=grate_c, start_c=grate_c, wander_c=0.0)
    habits = Habits(reaction_s=(1.0, 1.0), pull_reaction_s=(reaction_s, reaction_s), boxed_s=450.0)
    return Scenario("one", (scene,), seed, fire, habits, lasts_s=1_700.0, grate_channel=_GRATE)


@cache
def cooked(changed: Scenario) -> CookFacts:
    """The facts of a scenario; "pull now" is taken to be called as the core gets there."""
    kitchen = Kitchen(changed)
    seen = kitchen.advance(changed.lasts_s)
    marks = {e.mark: e.t for e in seen if isinstance(e, Mark) and e.steak == "left"}
    core = [(e.t, e.celsius) for e in seen if isinstance(e, Reading) and e.channel == "left/0"]
    grate = [(e.t, e.celsius) for e in seen if isinstance(e, Reading) and e.channel == _GRATE]
    on_t, off_t = marks[MarkKind.ON], marks[MarkKind.OFF]
    burned = [c for t, c in grate if on_t <= t <= off_t]
    found = kitchen.outcome("left")
    steak = SteakFacts(
        "left",
        changed.header().steaks[0],
        on_t,
        off_t,
        marks.get(MarkKind.BOXED),
        start_c=changed.steaks[0].cut.start_c,
        pull_c=changed.steaks[0].pull_c,
        cross_t=found.cross_s,
        now_t=found.cross_s,
        off_c=_at(core, off_t),
        rise_at_off_c_per_min=_at(core, off_t) - _at(core, off_t - 60.0),
        peak_t=found.peak_s,
        peak_c=found.peak_c,
        marks=tuple(
            DoneMark(e.t, e.mark) for e in seen if isinstance(e, Mark) and e.steak == "left"
        ),
        trace=tuple(core[::5]),
    )
    fire = FireFacts(
        grate[int(on_t) // 2][1], min(burned), max(burned), sum(burned) / len(burned), None
    )
    header = replace(changed.header(), cook=str(changed.seed))
    return CookFacts(str(changed.seed), header, changed.lasts_s, (steak,), fire)


def crossing_s(changed: Scenario) -> float:
    """From on to the pull temperature, s."""
    steak = cooked(changed).steaks[0]
    assert steak.cross_t is not None and steak.on_t is not None
    return steak.cross_t - steak.on_t


def _at(core: list[tuple[float, float]], t: float) -> float:
    return min(core, key=lambda reading: abs(reading[0] - t))[1]
