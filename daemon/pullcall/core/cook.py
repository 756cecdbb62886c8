"""One cook: takes inputs and the time, gives forecasts and calls. The same in life and replay.

Whole seconds are ticks. An input at ``t`` comes after every tick before ``t`` and before a tick
at ``t``; whoever feeds a cook stamps its inputs so that they never lie before a tick already
run (:meth:`Cook.stamp`). The effects then depend on the inputs alone.
"""

from __future__ import annotations

import math
from collections import deque
from copy import deepcopy
from dataclasses import dataclass, replace

from pullcall.calls.alarm import Alarm, StateChange
from pullcall.calls.engine import CallEngine
from pullcall.core import checks
from pullcall.core.history import History
from pullcall.core.steak import Phase, SteakState
from pullcall.events import (
    GRILL_MARKS,
    Acknowledgement,
    Call,
    CookHeader,
    Forecast,
    Input,
    Mark,
    Reading,
    Setting,
    Spot,
    Undo,
)
from pullcall.forecast.engine import ForecastEngine

Effect = Forecast | Call | StateChange
#: Inputs are stamped to the millisecond.
RESOLUTION_S = 0.001
#: Marks and spots that can be undone without working out the whole cook again.
_CHECKPOINTS = 16


@dataclass(frozen=True, slots=True)
class _Checkpoint:
    """Steaks and forecast as they stood before a mark or spot at ``t``."""

    t: float
    steaks: dict[str, SteakState]
    engine: ForecastEngine


class Cook:
    """The whole state of one cook."""

    def __init__(self, header: CookHeader) -> None:
        self.header = header
        self.history = History()
        self.forecasts: dict[str, Forecast] = {}
        self._checkpoints: deque[_Checkpoint] = deque(maxlen=_CHECKPOINTS)
        self._restart_states()
        self._calls = CallEngine(self.steaks)
        self._tick: int | None = None
        self._latest_t = -math.inf

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
            checks.check_setting(event, self.steaks)
        elif isinstance(event, Undo):
            checks.check_undo(event, self.history)
        elif isinstance(event, Acknowledgement):
            self._calls.check_call(event.call)

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
        if not (isinstance(event, Reading) and self._is_over()):
            self.history.add(event)
        return out + self._take(event)

    def leads_left(self, steak: str) -> tuple[float, ...]:
        """The seconds ahead at which a steak's pull is still to be announced."""
        return self._calls.leads_left(steak)

    def live_alarms(self) -> tuple[Alarm, ...]:
        """The alarms that have not ended."""
        return self._calls.live()

    def _take(self, event: Input) -> list[Effect]:
        if isinstance(event, Acknowledgement):
            return list(self._calls.acknowledge(event.call, event.by, event.t))
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
            self._checkpoints.append(
                _Checkpoint(event.t, deepcopy(self.steaks), deepcopy(self._engine))
            )
        self._follow(event)
        if isinstance(event, Spot) and event.steak and self._is_cooking(event.steak):
            return [self._forecast(event.steak, event.t)]
        return []

    def _run_tick(self, now: float) -> list[Effect]:
        forecasts = [self._forecast(n, now) for n in self.steaks if self._is_cooking(n)]
        return [*forecasts, *self._calls.step(self.forecasts, now)]

    def _forecast(self, steak: str, now: float) -> Forecast:
        forecast = self._engine.forecast(steak, now)
        self.forecasts[steak] = forecast
        return forecast

    def _is_cooking(self, steak: str) -> bool:
        state = self.steaks.get(steak)
        return state is not None and state.phase not in (Phase.WAITING, Phase.HANDED_IN)

    def _is_over(self) -> bool:
        return all(steak.phase is Phase.HANDED_IN for steak in self.steaks.values())

    def _follow(self, event: Input) -> None:
        """Let the steaks and the forecast follow one input."""
        if isinstance(event, Mark):
            self._follow_mark(event)
            return
        for steak in self._concerned(event):
            if isinstance(event, Reading):
                steak.read(event)
            elif isinstance(event, Setting):
                steak.set(event)
        if isinstance(event, Setting) and event.steak is None and event.name == "rest_on":
            self.rest_on = str(event.value)
        if isinstance(event, Setting) and event.steak is None and event.name == "carry_over":
            self.carry_over = str(event.value)
        if isinstance(event, Reading | Spot | Setting):
            self._engine.update(event)

    def _follow_mark(self, mark: Mark) -> None:
        """The forecast hears only of marks that made sense, steak by steak."""
        if mark.mark in GRILL_MARKS:
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
        else:
            self._restart_states()
        for event in self.history.standing(from_t):
            self._follow(event)
        self.forecasts = {n: f for n, f in self.forecasts.items() if self._is_cooking(n)}
        self._calls.follow(self.steaks)

    def _restart_states(self) -> None:
        self.steaks = {s.steak: SteakState(s, self.header.plan) for s in self.header.steaks}
        self.rest_on = self.header.rest_on
        self.carry_over = str(self.header.carry_over)
        self._engine = ForecastEngine(self.header)
