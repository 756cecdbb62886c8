"""One cook: takes inputs and the time, gives forecasts and calls. The same in life and replay.

Whole seconds are ticks. An input at ``t`` comes after every tick before ``t`` and before a tick
at ``t``; whoever feeds a cook stamps its inputs so that they never lie before a tick already
run (:meth:`Cook.stamp`). The effects then depend on the inputs alone.
"""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Mapping
from copy import deepcopy
from dataclasses import dataclass, replace

from pullcall.calls.alarm import Alarm, StateChange
from pullcall.calls.engine import CallEngine
from pullcall.calls.scene import Scene
from pullcall.core import checks
from pullcall.core.history import History
from pullcall.core.phase import Phase
from pullcall.core.setup import window_of
from pullcall.core.steak import SteakState
from pullcall.core.surroundings import Surroundings
from pullcall.events import (
    GRILL_MARKS,
    MORNING_MARKS,
    Acknowledgement,
    Call,
    Condition,
    CookHeader,
    Fault,
    Forecast,
    Input,
    Mark,
    Normal,
    Proposal,
    Reading,
    Restart,
    Setting,
    Shelving,
    Spot,
    Undo,
)
from pullcall.fire.fire import FireReport
from pullcall.fire.state import FireState
from pullcall.forecast.engine import ForecastEngine
from pullcall.plan.live import LivePlan, live_plan
from pullcall.plan.progress import Progress, SteakProgress
from pullcall.proposals.watch import ProposalWatch

Effect = Forecast | Call | StateChange
#: Inputs are stamped to the millisecond.
RESOLUTION_S = 0.001
#: Marks and spots that can be undone without working out the whole cook again.
_CHECKPOINTS = 16
#: The plan is worked out anew this often, seconds, and at every mark and setting.
_PLAN_LASTS_S = 5.0


@dataclass(frozen=True, slots=True)
class _Checkpoint:
    """What follows the inputs, as it stood before a mark or spot at ``t``."""

    t: float
    steaks: dict[str, SteakState]
    engine: ForecastEngine
    surroundings: Surroundings


class Cook:
    """The whole state of one cook."""

    def __init__(self, header: CookHeader) -> None:
        self.header = header
        self.history = History()
        self.forecasts: dict[str, Forecast] = {}
        self.fire_report: FireReport | None = None
        self.plan: LivePlan | None = None
        self._is_plan_outdated = True
        self._proposals = ProposalWatch(header.names(), header.fire.channel)
        self._faults: dict[tuple[Fault, str], float] = {}
        self._checkpoints: deque[_Checkpoint] = deque(maxlen=_CHECKPOINTS)
        self._restart_states()
        self._calls = CallEngine(self.steaks, header.lessons.reaction_s)
        self._tick: int | None = None
        self._latest_t = -math.inf

    @property
    def setup(self) -> CookHeader:
        """The settings of the cook as they stand."""
        return self._surroundings.setup

    def stamp(self, moment: float) -> float:
        """The time for an input that happened at ``moment``: never before what has been run."""
        earliest = self._latest_t
        if self._tick is not None:
            earliest = max(earliest, self._tick - 1 + RESOLUTION_S)
        return round(max(moment, earliest), 3)

    @property
    def latest_input_t(self) -> float:
        """The time of the latest input, cook seconds."""
        return self._latest_t

    @property
    def next_tick(self) -> float:
        """The next whole second to run, cook seconds."""
        return float(self._tick or 0)

    def check(self, event: Input) -> None:
        """Raise RefusedError, saying what to do, for an input from a person that makes no sense."""
        if isinstance(event, Mark):
            checks.check_mark(event, self.steaks)
            if event.at is not None:
                checks.check_backdate(event, self.header, self.history)
        elif isinstance(event, Spot):
            checks.check_spot(event, self.steaks)
        elif isinstance(event, Setting):
            checks.check_setting(event, self.steaks, self.setup)
        elif isinstance(event, Undo):
            if not any(proposal.id == event.id for proposal in self.proposals()):
                checks.check_undo(event, self.history)
        elif isinstance(event, Acknowledgement):
            self._calls.check_call(event.call)
        elif isinstance(event, Shelving):
            self._calls.check_shelving(event.call, event.for_s)

    def advance(self, now: float) -> list[Effect]:
        """Run every tick up to and including ``now``, cook seconds."""
        out: list[Effect] = []
        if self._tick is None:
            self._tick = 0
        while self._tick <= now:
            out += self._run_tick(float(self._tick))
            self._tick += 1
        return out

    def apply(self, event: Input) -> list[Effect]:
        """Take one input, after every tick before it."""
        if self._tick is None:
            self._tick = min(0, math.floor(event.t))
        out = self.advance(math.ceil(event.t) - 1)
        self._latest_t = max(self._latest_t, event.t)
        if not (isinstance(event, Reading) and self.is_over()):
            self.history.add(event)
        return out + self._take(event)

    def leads_left(self, steak: str) -> tuple[float, ...]:
        """The seconds ahead at which a steak's pull is still to be announced."""
        return self._calls.leads_left(steak)

    def pull_early_s(self, steak: str) -> float:
        """How much earlier than usual a steak's pull is called for a slow cook, seconds."""
        return self._calls.early_s(steak)

    def pull_is_due(self, steak: str) -> bool:
        """Whether a steak's pull has been called and stands."""
        return self._calls.is_due(steak)

    def pull_is_estimate(self, steak: str) -> bool:
        """Whether a steak's pull is known by the forecast alone, with no thermometer in it."""
        return self._calls.is_estimate(steak)

    def believed(self, steak: str) -> Mapping[str, Normal]:
        """What the forecast believes of each unknown of a steak, by name."""
        return self._engine.believed(steak)

    def climbs_more_c(self, steak: str) -> float:
        """How much of the climb told is what was taught or given, C."""
        return self._engine.climbs_more_c(steak)

    def offset_c(self, steak: str) -> float:
        """How far spots put a steak's core above what its probe shows, C."""
        return self._engine.offset_c(steak)

    def is_over(self) -> bool:
        """Whether every steak was handed in."""
        return all(steak.phase is Phase.HANDED_IN for steak in self.steaks.values())

    def live_alarms(self) -> tuple[Alarm, ...]:
        """The alarms that have not ended."""
        return self._calls.live()

    def proposals(self) -> tuple[Proposal, ...]:
        """The marks that the readings suggest and that wait for an answer."""
        return self._proposals.standing()

    def faults(self) -> Mapping[tuple[Fault, str], float]:
        """The faults that stand, with what each concerns, and since when."""
        return self._faults

    def _take(self, event: Input) -> list[Effect]:
        if isinstance(event, Acknowledgement):
            return list(self._calls.acknowledge(event.call, event.by, event.t))
        if isinstance(event, Shelving):
            return list(self._calls.shelve(event.call, event.by, event.for_s, event.t))
        if isinstance(event, Restart):
            self._calls.sound_again(event.t)
        if isinstance(event, Condition):
            self._take_condition(event)
        if isinstance(event, Undo) and self._proposals.dismiss(event.id):
            return []
        self._let_propose(event)
        if isinstance(event, Undo):
            self._rebuild(self.history.happened(event.id))
            return []
        if isinstance(event, Mark) and event.at is not None:
            self._rebuild(event.at)
            return []
        # Of several at one moment only the first is a place to go back to: it lies before all.
        if isinstance(event, Mark | Spot) and not (
            self._checkpoints and self._checkpoints[-1].t == event.t
        ):
            self._checkpoints.append(self._checkpoint(event.t))
        self._follow(event)
        if isinstance(event, Mark | Setting):
            self._is_plan_outdated = True
        if isinstance(event, Spot) and event.steak and self._is_cooking(event.steak):
            return [self._forecast(event.steak, event.t)]
        return []

    def _let_propose(self, event: Input) -> None:
        """Proposals follow what is read and marked as it comes; undoing does not unsay them."""
        if isinstance(event, Reading):
            self._proposals.read(event)
        elif isinstance(event, Mark):
            self._proposals.mark(event.steak, event.mark, event.happened)
        elif isinstance(event, Setting) and event.steak is None and event.name == "grate_channel":
            self._proposals.set_grate(None if event.value is None else str(event.value))

    def _run_tick(self, now: float) -> list[Effect]:
        forecasts = [self._forecast(n, now) for n in self.steaks if self._is_cooking(n)]
        self.fire_report = self._surroundings.fire.report(now)
        self._plan_anew(now)
        self._proposals.step(now, self.steaks, self.forecasts)
        return [*forecasts, *self._calls.step(self._scene(now))]

    def _plan_anew(self, now: float) -> None:
        """Work out the plan if it is old or something was done; pages keep the last till then."""
        is_old = self.plan is None or now - self.plan.t >= _PLAN_LASTS_S
        if is_old or self._is_plan_outdated:
            self.plan = live_plan(now, window_of(self.setup), self.setup, self._progress())
            self._is_plan_outdated = False

    def _scene(self, now: float) -> Scene:
        return Scene(
            now=now,
            steaks=self.steaks,
            forecasts=self.forecasts,
            fire=self.fire_report,
            fire_settings=self.setup.fire,
            plan=self.plan,
            window=window_of(self.setup),
            faults=self._faults,
        )

    def _progress(self) -> Progress:
        """How far the day has come, for the plan."""
        return Progress(
            done=dict(self._surroundings.morning),
            steaks=tuple(self._steak_progress(steak) for steak in self.steaks.values()),
            grate_over_floor=self._grate_is_over_floor(),
        )

    def _grate_is_over_floor(self) -> bool | None:
        """Whether the fire is ready to cook on; None while nobody knows."""
        report = self.fire_report
        if report is None or report.state is FireState.STALE:
            return None
        return report.celsius >= self.setup.fire.floor_c

    def _steak_progress(self, steak: SteakState) -> SteakProgress:
        forecast = self.forecasts.get(steak.name)
        return SteakProgress(
            steak.name,
            on_t=steak.on_t,
            off_t=steak.off_t,
            boxed_t=steak.boxed_t,
            handed_in_t=steak.handed_in_t,
            pull_in_s=forecast.pull_in_s if forecast else None,
            rest_in_s=forecast.rest_in_s if forecast else None,
        )

    def _take_condition(self, event: Condition) -> None:
        key = (event.fault, event.detail)
        if not event.active:
            self._faults.pop(key, None)
        else:
            self._faults.setdefault(key, event.t)

    def _checkpoint(self, t: float) -> _Checkpoint:
        return _Checkpoint(
            t,
            deepcopy(self.steaks),
            deepcopy(self._engine),
            self._surroundings.copy(),
        )

    def _forecast(self, steak: str, now: float) -> Forecast:
        forecast = self._engine.forecast(steak, now)
        self.forecasts[steak] = forecast
        return forecast

    def _is_cooking(self, steak: str) -> bool:
        state = self.steaks.get(steak)
        return state is not None and state.phase not in (Phase.WAITING, Phase.HANDED_IN)

    def _follow(self, event: Input) -> None:
        """Let the steaks and the forecast follow one input."""
        if isinstance(event, Mark):
            self._follow_mark(event)
            return
        for steak in self._concerned(event):
            if isinstance(event, Reading):
                steak.read(event)
            elif isinstance(event, Spot):
                steak.check(event)
            elif isinstance(event, Setting):
                steak.set(event)
        if getattr(event, "steak", None) is None:
            self._follow_around(event)
        if isinstance(event, Reading | Spot | Setting):
            self._engine.update(event)

    def _follow_around(self, event: Input) -> None:
        """What belongs to no steak belongs to the surroundings."""
        if isinstance(event, Reading):
            self._surroundings.read(event)
        elif isinstance(event, Spot):
            self._surroundings.check(event)
        elif isinstance(event, Setting):
            self._surroundings.set(event)

    def _follow_mark(self, mark: Mark) -> None:
        """The forecast hears only of marks that made sense, steak by steak."""
        if mark.mark in GRILL_MARKS:
            self._surroundings.mark(mark)
            if mark.mark not in MORNING_MARKS:
                self._engine.update(mark)
            return
        for steak in self._concerned(mark):
            if steak.mark(mark):
                self._engine.update(replace(mark, steak=steak.name))

    def _concerned(self, event: Input) -> list[SteakState]:
        name = getattr(event, "steak", None)
        if name is None and isinstance(event, Mark):
            return list(self.steaks.values())
        return [self.steaks[name]] if name in self.steaks else []

    def _rebuild(self, since: float) -> None:
        """Work the states out again from before ``since``; what was already said stays said."""
        while self._checkpoints and self._checkpoints[-1].t > since:
            self._checkpoints.pop()
        from_t = -math.inf
        if self._checkpoints:
            back = self._checkpoints.pop()
            self.steaks, self._engine, from_t = back.steaks, back.engine, back.t
            self._surroundings = back.surroundings
        else:
            self._restart_states()
        for event in self.history.standing(from_t):
            self._follow(event)
        self.forecasts = {n: f for n, f in self.forecasts.items() if self._is_cooking(n)}
        self._is_plan_outdated = True
        self._calls.follow(self.steaks)

    def _restart_states(self) -> None:
        self.steaks = {s.steak: SteakState(s, self.header.plan) for s in self.header.steaks}
        self._surroundings = Surroundings(self.header)
        self._engine = ForecastEngine(self.header)


def proposed_mark(proposal: Proposal, id: str, t: float) -> Mark:
    """A proposal as the mark it becomes at ``t``, dated back to when it happened."""
    return Mark(t, proposal.steak, proposal.mark, id, round(min(proposal.happened, t), 3))
