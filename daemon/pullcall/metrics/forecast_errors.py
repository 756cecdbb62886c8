"""How far off the forecasts of the running cook were, told as soon as a core has crossed.

The crossing is that of the filtered core as it was told each second. The study after the cook
(:mod:`pullcall.hindsight`) knows what came later too, and may put it a second or two elsewhere.
"""

from __future__ import annotations

from collections import Counter, deque
from collections.abc import Iterable, Iterator

from pullcall.core.cook import Effect
from pullcall.events import Forecast, Input, Mark, MarkKind, Setting
from pullcall.hindsight.facts import LeadScore
from pullcall.hindsight.scores import LEADS_S, lead_scores

#: Forecasts are kept so long, seconds: those of the longest lead, and some that are near it.
_KEPT_S = max(LEADS_S) + 5.0
#: A core goes on for this long after off as if it were on: heat takes that long to the middle, s.
_GOES_ON_S = 10.0
#: Settings that move what a pull is forecast to.
_AIMS = frozenset({"pull_c", "pull_by", "shift_c", "target_c", "carry_over"})


class ForecastErrors:
    """Follows a cook's effects and inputs. Times are cook seconds.

    ``judged`` counts the forecasts held against a crossing, by lead, and ``inside`` those of them
    whose band held it; both go on counting over the cooks.
    """

    def __init__(self) -> None:
        self.judged = Counter(dict.fromkeys(LEADS_S, 0))
        self.inside = Counter(dict.fromkeys(LEADS_S, 0))
        self._pulls: dict[str, _Pull] = {}

    def begin_cook(self) -> None:
        """Another cook: nothing of its pulls is known."""
        self._pulls.clear()

    def follow(self, event: Input | None, effects: Iterable[Effect]) -> None:
        """Take the effects up to an input, then the input."""
        for effect in effects:
            if isinstance(effect, Forecast):
                self._take(effect)
        if isinstance(event, Setting) and event.name in _AIMS:
            for pull in self._of(event.steak):
                pull.is_aimed_anew()
        elif isinstance(event, Mark) and event.mark is MarkKind.ON:
            for pull in self._of(event.steak):
                pull.begin()

    def errors(self) -> Iterator[tuple[str, LeadScore]]:
        """Each steak that crossed, with its forecasts held against the crossing."""
        for steak, pull in self._pulls.items():
            for score in pull.scores:
                yield steak, score

    def _take(self, forecast: Forecast) -> None:
        pull = self._pulls.setdefault(forecast.steak, _Pull())
        for score in pull.take(forecast):
            self.judged[score.lead_s] += 1
            self.inside[score.lead_s] += score.is_covered

    def _of(self, steak: str | None) -> Iterable[_Pull]:
        if steak is None:
            return self._pulls.values()
        return [self._pulls[steak]] if steak in self._pulls else []


class _Pull:
    """One steak's way to its pull temperature."""

    def __init__(self) -> None:
        self.begin()

    def begin(self) -> None:
        """It goes on, perhaps once more."""
        self.scores: tuple[LeadScore, ...] = ()
        self._has_crossed = False
        self._told: deque[Forecast] = deque()
        self._below: tuple[float, float] | None = None  # when, and how far below the pull, C
        self._pull_c: float | None = None
        self._on_t = 0.0

    def is_aimed_anew(self) -> None:
        """Forecasts of another pull say nothing of this one; what is off is past that."""
        if self._told and self._told[-1].pull_c is not None:
            self.begin()

    def take(self, forecast: Forecast) -> tuple[LeadScore, ...]:
        """The next forecast; where the core crossed by it, those before held against that."""
        left_c = self._left_c(forecast)
        cross_t = self._crossing(forecast.t, left_c)
        self._below = (forecast.t, left_c) if left_c is not None and left_c > 0.0 else None
        self._keep(forecast)
        if cross_t is None or self._has_crossed:
            return ()
        self._has_crossed = True
        self.scores = tuple(lead_scores(self._told, cross_t))
        return self.scores

    def _left_c(self, forecast: Forecast) -> float | None:
        """How far below its pull temperature the core is; None where that is past."""
        if forecast.pull_c is not None:
            self._pull_c, self._on_t = forecast.pull_c, forecast.t
        if self._pull_c is None or forecast.core_c is None:
            return None
        is_past = forecast.t - self._on_t > _GOES_ON_S
        return None if is_past else self._pull_c - forecast.core_c

    def _crossing(self, t: float, left_c: float | None) -> float | None:
        """When the core crossed since the last look, if it did."""
        if self._below is None or left_c is None or left_c > 0.0:
            return None
        before_t, before_c = self._below
        return before_t + before_c / (before_c - left_c) * (t - before_t)

    def _keep(self, forecast: Forecast) -> None:
        self._told.append(forecast)
        while self._told[0].t < forecast.t - _KEPT_S:
            self._told.popleft()
