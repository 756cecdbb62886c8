"""Everything the calls of one second are decided from."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from pullcall.core.phase import Phase
from pullcall.core.steak import SteakState
from pullcall.events import Fault, FireSettings, Forecast
from pullcall.fire.fire import FireReport
from pullcall.plan.live import LivePlan


@dataclass(frozen=True, slots=True)
class Scene:
    """One second of a cook. Times are cook seconds; ``window`` is when turn-in opens and closes;
    ``faults`` maps each fault that stands, and what it concerns, to its beginning."""

    now: float
    steaks: Mapping[str, SteakState]
    forecasts: Mapping[str, Forecast] = field(default_factory=dict)
    fire: FireReport | None = None
    fire_settings: FireSettings = field(default_factory=FireSettings)
    plan: LivePlan | None = None
    window: tuple[float, float] | None = None
    faults: Mapping[tuple[Fault, str], float] = field(default_factory=dict)

    def in_phase(self, *phases: Phase) -> Iterator[SteakState]:
        """The steaks in one of these phases."""
        return (steak for steak in self.steaks.values() if steak.phase in phases)
