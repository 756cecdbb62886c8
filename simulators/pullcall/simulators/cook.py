"""The simulated cook: acts a little after the moment, and leaves alone what others have done."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from random import Random

from pullcall.events import GRILL_MARKS, Mark, MarkKind
from pullcall.simulators.scenario import Habits, Pulls, Scenario

LID_BEFORE_S = 2.5  # the lid comes up before an act
LID_AFTER_S = 4.0  # and goes down after the last one
#: A cook who waits to be told gives up waiting this far past the pull temperature, K.
PATIENCE_C = 2.0
#: Acts away from the grill.
_AWAY = frozenset({MarkKind.BOXED, MarkKind.HANDED_IN})


@dataclass(frozen=True, slots=True)
class _Act:
    t: float
    steak: str
    mark: MarkKind


class SimulatedCook:
    """Knows the plan and watches the cores; decides, never touches a steak."""

    def __init__(self, scenario: Scenario, rng: Random) -> None:
        self._habits: Habits = scenario.habits
        self._pull_c = {scene.steak: scene.pull_c for scene in scenario.steaks}
        self._rng = rng
        self._acts = [_Act(scene.on_s, scene.steak, MarkKind.ON) for scene in scenario.steaks]
        self._on_grate: set[str] = set()
        self._pulling: set[str] = set()
        self._lid_open = False
        self._last_act = float("-inf")

    def acts(self, begin: float, end: float, cores_c: Mapping[str, float]) -> list[Mark]:
        """Return what the cook does from ``begin`` until ``end``, in order."""
        for steak in sorted(self._on_grate - self._pulling):
            if cores_c[steak] >= self._pull_c[steak] + self._patience_c():
                self.told_to_pull(steak, begin)
        lid = self._lid(begin, end)
        return [*lid, *(self._mark(act, begin) for act in self._due(end))]

    def told_to_pull(self, steak: str, t: float) -> None:
        """Take this steak off, after a reaction."""
        if steak in self._on_grate and steak not in self._pulling:
            self._pulling.add(steak)
            reaction = self._rng.uniform(*self._habits.pull_reaction_s)
            self._acts.append(_Act(t + reaction, steak, MarkKind.OFF))

    def saw(self, mark: Mark, own: bool) -> None:
        """Take note of an act: plan what follows, and do not repeat what another has done."""
        if mark.mark in GRILL_MARKS:
            self._lid_open = mark.mark is MarkKind.LID_OPEN
            return
        if mark.mark not in _AWAY:
            self._last_act = mark.t
        for steak in self._pull_c if mark.steak is None else (mark.steak,):
            if not own:
                self._strike(steak, mark.mark)
            self._plan_after(steak, mark.mark, mark.t)

    def _patience_c(self) -> float:
        return PATIENCE_C if self._habits.pulls is Pulls.WHEN_TOLD else 0.0

    def _reaction(self) -> float:
        return self._rng.uniform(*self._habits.reaction_s)

    def _due(self, end: float) -> list[_Act]:
        due = sorted((a for a in self._acts if a.t < end), key=lambda a: a.t)
        self._acts = [a for a in self._acts if a.t >= end]
        return due

    @staticmethod
    def _mark(act: _Act, begin: float) -> Mark:
        return Mark(round(max(act.t, begin), 3), act.steak, act.mark)

    def _strike(self, steak: str, mark: MarkKind) -> None:
        """Forget the next planned act of this kind: it has been done."""
        planned = [a for a in self._acts if a.steak == steak and a.mark is mark]
        if planned:
            self._acts.remove(min(planned, key=lambda a: a.t))

    def _plan_after(self, steak: str, mark: MarkKind, t: float) -> None:
        if mark is MarkKind.ON:
            self._on_grate.add(steak)
            self._acts += [
                _Act(t + step.t + self._reaction(), steak, step.mark)
                for step in self._habits.pattern
            ]
        elif mark is MarkKind.OFF:
            self._on_grate.discard(steak)
            self._acts = [a for a in self._acts if a.steak != steak]
            self._plan(steak, MarkKind.BOXED, t, self._habits.boxed_s)
        elif mark is MarkKind.BOXED:
            self._plan(steak, MarkKind.HANDED_IN, t, self._habits.handed_in_s)

    def _plan(self, steak: str, mark: MarkKind, t: float, after_s: float | None) -> None:
        if after_s is not None:
            self._acts.append(_Act(t + after_s, steak, mark))

    def _lid(self, begin: float, end: float) -> list[Mark]:
        """Open the lid shortly before an act at the grate; close it when none is near."""
        if not self._habits.opens_lid:
            return []
        near = any(a.t < end + LID_BEFORE_S for a in self._acts if a.mark not in _AWAY)
        if near and not self._lid_open:
            return [Mark(round(begin, 3), None, MarkKind.LID_OPEN)]
        if self._lid_open and not near and begin > self._last_act + LID_AFTER_S:
            return [Mark(round(begin, 3), None, MarkKind.LID_CLOSE)]
        return []
