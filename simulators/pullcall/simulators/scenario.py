"""Scenarios: everything that a simulated cook starts from, and the ones with a name."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from enum import StrEnum

from pullcall.errors import UnknownNameError
from pullcall.events import USUAL_PATTERN, CookHeader, PlannedMark, SteakSettings
from pullcall.events import FireSettings as Grate
from pullcall.simulators.another import another
from pullcall.simulators.fire import FireSettings
from pullcall.simulators.probe import ProbeSettings, SpotReader
from pullcall.simulators.steak import Cut

#: A fixed wall time, so that the same seed writes the same bytes.
STARTED = "2026-06-13T13:40:00Z"


class Pulls(StrEnum):
    """What makes the simulated cook take a steak off."""

    AT_CORE = "at_core"
    WHEN_TOLD = "when_told"


@dataclass(frozen=True, slots=True)
class Habits:
    """How the simulated cook works. Seconds.

    ``reaction_s`` is the least and the most time between a moment and the act,
    ``pull_reaction_s`` that between the pull temperature and off. ``opens_lid``:
    the lid is shut except around each act. ``spots_s`` are the times of spot checks after on;
    ``boxed_s`` and ``handed_in_s`` count from off and from boxed, None for never.
    """

    pattern: tuple[PlannedMark, ...] = USUAL_PATTERN
    reaction_s: tuple[float, float] = (1.0, 3.0)
    pull_reaction_s: tuple[float, float] = (1.0, 3.0)
    pulls: Pulls = Pulls.AT_CORE
    rest_on: str = "rack"
    opens_lid: bool = True
    spots_s: tuple[float, ...] = ()
    spot_reader: SpotReader = field(default_factory=SpotReader)
    boxed_s: float | None = None
    handed_in_s: float | None = None


@dataclass(frozen=True, slots=True)
class SteakScene:
    """One steak of a scenario; ``on_s`` is when it goes on, ``probe`` None leaves it bare."""

    steak: str
    cut: Cut
    on_s: float
    pull_c: float = 53.9
    target_c: float | None = None
    probe: ProbeSettings | None = field(default_factory=ProbeSettings)
    channel: str | None = None

    def settings(self) -> SteakSettings:
        """What the cook would know of it."""
        return SteakSettings(
            steak=self.steak,
            thickness_mm=self.cut.thickness_mm,
            start_c=self.cut.start_c,
            pull_c=self.pull_c,
            target_c=self.target_c,
            channel=self.channel if self.probe else None,
        )


@dataclass(frozen=True, slots=True)
class Scenario:
    """A whole cook before it happens. The same scenario always gives the same cook.

    ``grate_channel`` is the probe at the grate, None where there is none.
    """

    name: str
    steaks: tuple[SteakScene, ...]
    seed: int = 1
    fire: FireSettings = field(default_factory=FireSettings)
    habits: Habits = field(default_factory=Habits)
    air_c: float = 22.0
    lasts_s: float = 1_200.0
    grate_channel: str | None = None

    def header(self) -> CookHeader:
        """The cook's settings, saying that it is simulated."""
        return CookHeader(
            cook=f"simulated-{self.name}-{self.seed}",
            started=STARTED,
            steaks=tuple(scene.settings() for scene in self.steaks),
            rest_on=self.habits.rest_on,
            plan=self.habits.pattern,
            fire=Grate(channel=self.grate_channel),
            simulated=True,
        )


def _demo() -> Scenario:
    left = SteakScene(
        "left", Cut(31.2, 18.5), 10.0, 53.9, 57.0, ProbeSettings(depth_mm=15.2), "simulated-1/0"
    )
    right = SteakScene(
        "right",
        Cut(31.6, 18.5),
        16.0,
        53.9,
        57.0,
        ProbeSettings(depth_mm=16.0, resolution_c=0.05, noise_c=0.08, battery_percent=64),
        "simulated-2/0",
    )
    fire = FireSettings(settled_c=285.0, start_c=285.0)
    # Slow to pull, so that "pull now" can be seen and heard even six times faster than life.
    habits = Habits(pull_reaction_s=(6.0, 9.0), boxed_s=450.0, handed_in_s=200.0)
    return Scenario(
        "demo",
        (left, right),
        fire=fire,
        habits=habits,
        air_c=18.0,
        grate_channel="simulated-3/0",
    )


def _backyard() -> Scenario:
    steak = SteakScene(
        "steak", Cut(38.0, 8.0), 30.0, 53.9, 57.0, ProbeSettings(interval_s=1.0), "simulated-1/0"
    )
    fire = FireSettings(settled_c=265.0, start_c=255.0, wander_c=12.0)
    return Scenario("backyard", (steak,), fire=fire, lasts_s=1_800.0)


def _spots() -> Scenario:
    checks = tuple(range(300, 900, 45))
    left = SteakScene("left", Cut(31.5, 10.0), 10.0, target_c=57.0, probe=None)
    right = SteakScene("right", Cut(32.5, 10.0), 16.0, target_c=57.0, probe=None)
    return Scenario("spots", (left, right), habits=Habits(spots_s=checks))


def _rough() -> Scenario:
    demo = _demo()
    rough = ProbeSettings(
        lag_s=6.0, resolution_c=0.5, noise_c=0.2, offset_c=0.4, jitter_s=0.15,
        gap_chance=0.004, gap_s=9.0, spike_chance=0.004,
    )  # fmt: skip
    scenes = tuple(replace(scene, probe=rough) for scene in demo.steaks)
    fire = FireSettings(wander_c=18.0, drift_c_per_min=-3.0)
    return replace(demo, name="rough", steaks=scenes, fire=fire)


_NAMED = {"demo": _demo, "backyard": _backyard, "spots": _spots, "rough": _rough}


def names() -> tuple[str, ...]:
    """The scenarios with a name."""
    return tuple(_NAMED)


def scenario(name: str, seed: int = 1) -> Scenario:
    """Return the scenario with this name, on the day ``seed`` (see another.py).

    Raises UnknownNameError if there is none.
    """
    if name not in _NAMED:
        raise UnknownNameError(f"There is no scenario “{name}”; use one of {', '.join(_NAMED)}.")
    return another(_NAMED[name](), seed)
