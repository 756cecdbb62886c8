"""What one steak's readings and plan propose."""

from __future__ import annotations

from pullcall.core.phase import Phase
from pullcall.core.steak import LAPSE_S, SteakState
from pullcall.events import Forecast, MarkKind, PlannedMark
from pullcall.proposals.coming_off import BendWatch, LeavingWatch
from pullcall.proposals.found import Found
from pullcall.proposals.going_on import going_on
from pullcall.proposals.rules import ON_RISES_C, SAME_ACT_S
from pullcall.proposals.trace import Trace

Finding = tuple[MarkKind, Found]
_LAPSED = "it was due by the plan, and no reading tells whether it was done"


class SteakWatch:
    """Follows one steak in time order. ``see`` gives everything that seems so at this moment."""

    def __init__(self) -> None:
        self._trace = Trace()
        self._has_new = False
        self._phase = Phase.WAITING
        self._on: Found | None = None
        self._on_level = 0.0
        self._off: Found | None = None
        self._leaving, self._bend = LeavingWatch(), BendWatch()
        self._coming: tuple[PlannedMark, float] | None = None
        self._lapsed: list[Finding] = []
        self._acts: dict[MarkKind, float] = {}

    def read(self, t: float, celsius: float) -> None:
        """Take a reading of the core's probe."""
        self._has_new |= self._trace.add(t, celsius)

    def mark(self, kind: MarkKind, t: float) -> None:
        """The cook marked something that happened at ``t``."""
        self._acts[kind] = t

    def see(self, steak: SteakState, forecast: Forecast | None, now: float) -> list[Finding]:
        """What the steak seems to have been through, as of ``now``."""
        if steak.phase is not self._phase:
            self._begin(steak.phase)
        if steak.phase is Phase.ON:
            self._note_lapse(steak, now)
        if self._has_new:
            self._has_new = False
            self._look(steak, forecast)
        found = list(self._lapsed)
        if self._on is not None:
            found.append((MarkKind.ON, self._on))
        if self._off is not None:
            found.append((MarkKind.OFF, self._off))
        return found

    def _begin(self, phase: Phase) -> None:
        """Another phase asks other questions; what was found for the last one is done with."""
        self._phase, self._on, self._off = phase, None, None
        self._leaving, self._bend = LeavingWatch(), BendWatch()
        self._coming, self._lapsed = None, []
        if phase is Phase.WAITING:
            self._acts.clear()

    def _look(self, steak: SteakState, forecast: Forecast | None) -> None:
        if not self._trace.points:
            return
        if steak.phase is Phase.WAITING:
            self._look_for_on()
        elif steak.phase is Phase.ON:
            pull_c = steak.settings.pull_c
            if forecast is not None and forecast.pull_c is not None:
                pull_c = forecast.pull_c
            left = self._leaving.see(self._trace, pull_c)
            thickness_mm = steak.settings.thickness_mm
            bent = self._bend.see(self._trace, pull_c, thickness_mm, self._flipped_t())
            self._off = left or bent

    def _look_for_on(self) -> None:
        """Found once, it stays so until the core falls back to where it began to rise."""
        if self._on is None:
            self._on = going_on(self._trace)
            self._on_level = self._trace.points[-1][1] - ON_RISES_C[-1]
        elif self._trace.points[-1][1] < self._on_level + ON_RISES_C[0]:
            self._on = None

    def _flipped_t(self) -> float | None:
        """The last flip, marked or planned and lapsed."""
        made = self._acts.get(MarkKind.FLIP)
        planned = [found.happened for kind, found in self._lapsed if kind is MarkKind.FLIP]
        return max((t for t in (made, *planned) if t is not None), default=None)

    def _note_lapse(self, steak: SteakState, now: float) -> None:
        """A planned flip that passed without its mark. A turn leaves no trace and is often left
        out, so it is not proposed."""
        coming, self._coming = self._coming, steak.next_planned(now)
        if coming is None or coming == self._coming:
            return
        planned, due = coming
        if planned.mark is not MarkKind.FLIP:
            return
        made = self._acts.get(planned.mark)
        was_made = made is not None and abs(made - due) <= SAME_ACT_S
        if now >= due + LAPSE_S and not was_made:
            self._lapsed = [*self._lapsed, (MarkKind.FLIP, Found(round(due, 1), _LAPSED))][-8:]
