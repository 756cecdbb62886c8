"""The grate of a cook that is worked out anew."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from pullcall.core.cook import Cook, Effect
from pullcall.core.curve import Curve
from pullcall.events import Input
from pullcall.fire.fire import FireReport
from pullcall.fire.state import FireState
from pullcall.hindsight.facts import FireFacts


class GrateWatch:
    """Notes the fire's level as it was told each second, while it was heard."""

    def __init__(self) -> None:
        self._told: list[tuple[float, float]] = []
        self._curve = Curve()
        self._ready_t: float | None = None
        self._latest: FireReport | None = None

    def __call__(
        self, event: Input | None, effects: Sequence[Effect], t: float, cook: Cook
    ) -> None:
        """Take one step of the pass."""
        report = cook.fire_report
        if report is None or report is self._latest or report.state is FireState.STALE:
            return
        self._latest = report
        self._told.append((report.t, report.celsius))
        self._curve.add(report.t, report.celsius)
        if self._ready_t is None and report.celsius >= cook.setup.fire.floor_c:
            self._ready_t = report.t

    def facts(self, on_t: float | None, off_t: float | None) -> FireFacts:
        """The grate as the first steak went on, and from then until the last came off (None:
        until the end)."""
        ready_t, trace = self._ready_t, tuple(self._curve.points())
        if on_t is None:
            return FireFacts(ready_t=ready_t, trace=trace)
        before = [c for t, c in self._told if t <= on_t]
        during = [c for t, c in self._told if on_t <= t and (off_t is None or t <= off_t)]
        return FireFacts(
            at_on_c=before[-1] if before else None,
            low_c=min(during, default=None),
            high_c=max(during, default=None),
            mean_c=round(float(np.mean(during)), 1) if during else None,
            ready_t=ready_t,
            trace=trace,
        )
