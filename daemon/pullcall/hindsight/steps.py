"""The steps of the plan against what happened."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from pullcall.core.cook import Cook, Effect
from pullcall.core.steak import SteakState
from pullcall.events import MORNING_MARKS, Input, MarkKind
from pullcall.hindsight.facts import StepFacts
from pullcall.plan.day import Day, Key, keys
from pullcall.plan.live import LivePlan
from pullcall.plan.progress import Progress, SteakProgress
from pullcall.plan.steps import HAND_IN, label

_HAND_IN: Key = (HAND_IN.name, None)
#: A time that moved by less than this is the same, s.
_SAME_S = 0.5
#: When a step was begun and when it was over, cook seconds; None where no mark tells.
Span = tuple[float | None, float | None]
Rested = Mapping[str, float | None]


class StepWatch:
    """Notes what the plan asked for, and when."""

    def __init__(self) -> None:
        self._asked: dict[Key, list[tuple[float, float]]] = {}
        self._chances: list[tuple[float, float]] = []
        self._latest: LivePlan | None = None

    def __call__(
        self, event: Input | None, effects: Sequence[Effect], t: float, cook: Cook
    ) -> None:
        """Take one step of the pass."""
        plan = cook.plan
        if plan is None or plan is self._latest:
            return
        self._latest = plan
        if plan.chance is not None:
            self._chances.append((plan.t, plan.chance))
        for step in plan.steps:
            asked = self._asked.setdefault((step.name, step.steak), [])
            if not asked or abs(asked[-1][1] - step.recommended_t) > _SAME_S:
                asked.append((plan.t, step.recommended_t))

    def planned_t(self, key: Key, until: float | None) -> float | None:
        """When the plan last asked to begin a step, of what it said before ``until``."""
        asked = [begin_t for t, begin_t in self._asked.get(key, ()) if until is None or t < until]
        return round(asked[-1], 1) if asked else None

    def chance_at(self, t: float) -> float | None:
        """The first chance told from ``t`` on."""
        return next((chance for told_t, chance in self._chances if told_t >= t), None)

    def facts(self, cook: Cook, rested: Rested, hot_t: float | None) -> tuple[StepFacts, ...]:
        """Every step that was planned or done, in the day's order.

        ``rested`` is when each steak was called rested, ``hot_t`` when the grate was first over
        its floor.
        """
        day = Day.of(cook.setup)
        spans = _Spans(cook, rested, hot_t)
        found = []
        for key in (*keys(day.names()), _HAND_IN):
            began_t, ended_t = spans.of(key)
            planned_t = self.planned_t(key, ended_t if began_t is None else began_t)
            if (planned_t, began_t, ended_t) == (None, None, None):
                continue
            took_s = None if began_t is None or ended_t is None else round(ended_t - began_t, 3)
            range_ = HAND_IN.takes if key == _HAND_IN else day.takes(key)
            found.append(StepFacts(*key, label(*key), range_, planned_t, began_t, took_s, ended_t))
        return tuple(found)


class _Spans:
    """When each step was begun and over, as far as marks tell."""

    def __init__(self, cook: Cook, rested: Rested, hot_t: float | None) -> None:
        marks = cook.history.marks()
        done = {m.mark: m.happened for m in marks if m.mark in MORNING_MARKS}
        self._past = Progress(done, tuple(_progress(steak) for steak in cook.steaks.values()))
        self._rested, self._hot_t = rested, hot_t

    def of(self, key: Key) -> Span:
        """One step's span."""
        name, steak = key
        if steak is not None:
            return self._own(name, steak)
        boxed_t, handed_in_t = self._past.first("boxed_t"), self._past.first("handed_in_t")
        spans: dict[str, Span] = {
            "season": (None, self._at(MarkKind.SEASONED)),
            "cold": (self._at(MarkKind.SEASONED), None),
            "light": (self._at(MarkKind.LIT), None),
            "pour": (None, self._at(MarkKind.POURED)),
            "heat_up": self._heat_up(),
            "fetch": (None, self._at(MarkKind.FETCHED)),
            "box": (None, boxed_t),
            "walk": (boxed_t, handed_in_t),
            HAND_IN.name: (handed_in_t, handed_in_t),
        }
        return spans[name]

    def _own(self, name: str, steak: str) -> Span:
        own = self._past.steak(steak)
        if name == "cook":
            return own.on_t, own.off_t
        over_t = self._rested.get(steak) if own.boxed_t is None else own.boxed_t
        return (own.off_t, over_t) if own.off_t is not None else (None, None)

    def _heat_up(self) -> Span:
        """Until the grate was over its floor, or until something went on all the same."""
        poured_t = self._at(MarkKind.POURED)
        if poured_t is None:
            return None, None
        ends = [t for t in (self._hot_t, self._past.first("on_t")) if t is not None]
        return poured_t, max(poured_t, min(ends)) if ends else None

    def _at(self, kind: MarkKind) -> float | None:
        return self._past.done.get(kind)


def _progress(steak: SteakState) -> SteakProgress:
    return SteakProgress(steak.name, steak.on_t, steak.off_t, steak.boxed_t, steak.handed_in_t)
