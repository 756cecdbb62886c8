"""A call engine with made-up forecasts, stepped second by second: what its tests share."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from pullcall.calls.alarm import StateChange
from pullcall.calls.engine import CallEngine
from pullcall.calls.scene import Scene
from pullcall.core.steak import SteakState
from pullcall.events import (
    Call,
    CallKind,
    Fault,
    FireSettings,
    Forecast,
    Mark,
    MarkKind,
    PlannedMark,
    Quantiles,
    Reading,
    Spot,
    SteakSettings,
)
from pullcall.fire.fire import FireReport
from pullcall.plan.live import LivePlan

PULL_C = 54.0
#: Steaks rise this fast in these tests, kelvin per second.
RISE = 0.1
Says = Callable[[float], Forecast | None]


def forecast(
    t: float, in_s: float, band_s: float = 6.0, core_c: float | None = None, steak: str = "left"
) -> Forecast:
    """A forecast whose pull lies ``in_s`` ahead, its band ``band_s`` wide around it."""
    half = band_s / 2.0
    pull = Quantiles(max(in_s - half, 0.0), in_s, in_s + half)
    core = PULL_C - RISE * in_s if core_c is None else core_c
    return Forecast(t, steak, pull, None, core_c=core)


class Stage:
    """One or two steaks. ``says`` holds a function of time for each steak's forecast."""

    def __init__(self, *names: str, pattern: tuple[PlannedMark, ...] = ()) -> None:
        self.steaks = {
            name: SteakState(SteakSettings(name, pull_c=PULL_C, channel=f"{name}/1"), pattern)
            for name in names or ("left",)
        }
        self.engine = CallEngine(self.steaks)
        self.says: dict[str, Says] = {}
        self.reads: dict[str, Callable[[float], float | None]] = {}
        self.faults: dict[tuple[Fault, str], float] = {}
        self.fire: FireReport | None = None
        self.plan: LivePlan | None = None
        self.window: tuple[float, float] | None = None
        self.calls: list[Call] = []
        self.changes: list[StateChange] = []
        self.now = -1.0

    def mark(self, kind: MarkKind, steak: str | None = None) -> None:
        for name in self.steaks if steak is None else (steak,):
            self.steaks[name].mark(Mark(max(self.now, 0.0), name, kind))

    def spot(self, steak: str, celsius: float) -> None:
        self.steaks[steak].check(Spot(self.now, steak, celsius))

    def pull_at(self, due: float, steak: str = "left", band_s: float = 6.0) -> None:
        """A forecast that is always right: the pull comes at ``due``."""
        self.says[steak] = lambda t: forecast(t, max(due - t, 0.0), band_s, steak=steak)
        self.reads[steak] = lambda t: PULL_C - RISE * (due - t)

    def run(self, until: float) -> list[Call]:
        """Step to ``until``; the calls made meanwhile."""
        before = len(self.calls)
        while self.now < until:
            self.now += 1.0
            self._read()
            for announced in self.engine.step(self._scene()):
                self._keep(announced)
        return self.calls[before:]

    def _read(self) -> None:
        for name, read in self.reads.items():
            celsius = read(self.now)
            if celsius is not None:
                self.steaks[name].read(Reading(self.now, name, celsius, f"{name}/1"))

    def _scene(self) -> Scene:
        found = {name: says(self.now) for name, says in self.says.items()}
        return Scene(
            now=self.now,
            steaks=self.steaks,
            forecasts={name: one for name, one in found.items() if one is not None},
            fire=self.fire,
            fire_settings=FireSettings(),
            plan=self.plan,
            window=self.window,
            faults=self.faults,
        )

    def _keep(self, announced: Call | StateChange) -> None:
        if isinstance(announced, Call):
            self.calls.append(announced)
        else:
            self.changes.append(announced)

    def keep(self, changes: Iterable[StateChange]) -> None:
        """Note state changes that an answer made."""
        self.changes += changes

    def said(self, kind: CallKind, steak: str | None = None) -> list[Call]:
        """Every call of a kind, of one steak or of all."""
        return [c for c in self.calls if c.call is kind and (steak is None or steak in c.steaks)]

    def times(self, kind: CallKind, steak: str | None = None) -> list[float]:
        """When each call of a kind was made."""
        return [call.t for call in self.said(kind, steak)]

    def states(self, id: str) -> list[str]:
        """What became of a call, in order."""
        return [str(change.state) for change in self.changes if change.id == id]


def on(*names: str, pattern: tuple[PlannedMark, ...] = ()) -> Stage:
    """A stage whose steaks went on at 0."""
    stage = Stage(*names, pattern=pattern)
    stage.run(0.0)
    stage.mark(MarkKind.ON)
    return stage
