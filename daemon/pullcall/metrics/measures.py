"""What a running site is measured by: told as things happen, read at a scrape."""

from __future__ import annotations

from collections.abc import Sequence

from pullcall.clock import Clock, RealClock
from pullcall.core.cook import Effect
from pullcall.events import Call, Input
from pullcall.metrics.beats import Beats
from pullcall.metrics.call_times import CallTimes
from pullcall.metrics.forecast_errors import ForecastErrors
from pullcall.site.inbox import Inbox
from pullcall.site.ledger import Ledger
from pullcall.sources.sink import Counted, LinkCounts, ProbeStatus, Source


class Measures:
    """Nothing here waits, raises or changes what is measured.

    Durations are real seconds, counted on ``life``, however fast (``speed`` times life) the
    cook's clock runs; only errors of the forecast are seconds of the cook.
    """

    def __init__(
        self,
        inbox: Inbox,
        ledger: Ledger,
        sources: Sequence[Source],
        speed: float,
        life: Clock | None = None,
    ) -> None:
        self.inbox = inbox
        self.ledger = ledger
        self.life = life or RealClock()
        self.beats = Beats(self.life.monotonic())
        self.calls = CallTimes()
        self.forecasts = ForecastErrors()
        self._sources = sources
        self._speed = speed

    def passed(self) -> None:
        """The loop that makes the calls went round once."""
        self.beats.passed(self.life.monotonic())

    def begin_cook(self, past: Sequence[tuple[Input | None, list[Effect]]]) -> None:
        """A cook begins, or is taken up again after its ``past``."""
        self.calls.begin_cook()
        self.forecasts.begin_cook()
        for event, effects in past:
            self.forecasts.follow(event, effects)

    def took(self, event: Input) -> None:
        """An input was acted on."""
        self.forecasts.follow(event, ())

    def announces(self, effects: Sequence[Effect], now_t: float) -> None:
        """What follows is shown and handed to the outlets at ``now_t``, cook seconds."""
        self.forecasts.follow(None, effects)
        now = self.life.monotonic()
        for effect in effects:
            if isinstance(effect, Call):
                self.calls.announces(effect, now - self.real_s(now_t - effect.t), now)

    def real_s(self, cook_s: float) -> float:
        """A duration of the cook's clock in real seconds."""
        return cook_s / self._speed

    def probes(self) -> tuple[ProbeStatus, ...]:
        """Every channel heard, as of now."""
        return tuple(probe for source in self._sources for probe in source.probes())

    def links(self) -> tuple[LinkCounts, ...]:
        """What became of every link that is counted."""
        counted = (source for source in self._sources if isinstance(source, Counted))
        return tuple(link for source in counted for link in source.links())
