"""When a low or a high fire is worth an alarm: held for a while, and let go with a deadband."""

from __future__ import annotations

from dataclasses import dataclass

from pullcall.calls.rules import FIRE_DEADBAND_C, FIRE_OFF_S, FIRE_ON_S
from pullcall.events import FireSettings
from pullcall.fire.fire import FireReport
from pullcall.fire.state import FireState


@dataclass(slots=True)
class _Held:
    """A yes or no that has to last before it is believed."""

    is_on: bool = False
    since: float | None = None

    def see(self, wants: bool, now: float, on_s: float, off_s: float) -> None:
        """Change over once the other answer has lasted."""
        if wants is self.is_on:
            self.since = None
            return
        self.since = now if self.since is None else self.since
        if now - self.since >= (on_s if wants else off_s):
            self.is_on, self.since = wants, None


class FireWatch:
    """Low only once it was ready, or when something already lies on it. Feed it in time order."""

    def __init__(
        self,
        on_s: float = FIRE_ON_S,
        off_s: float = FIRE_OFF_S,
        deadband_c: float = FIRE_DEADBAND_C,
    ) -> None:
        self._on_s, self._off_s, self._deadband_c = on_s, off_s, deadband_c
        self._low, self._high = _Held(), _Held()

    @property
    def is_low(self) -> bool:
        """Whether the fire is below its floor, steadily."""
        return self._low.is_on

    @property
    def is_high(self) -> bool:
        """Whether the fire is above its ceiling, steadily."""
        return self._high.is_on

    def see(
        self, report: FireReport | None, settings: FireSettings, now: float, anything_on: bool
    ) -> FireState:
        """Look at the fire at ``now``: LOW, HIGH, or READY where neither is steadily so.

        A fire nobody hears of any more is neither: its probe's silence is another alarm.
        """
        self._low.see(self._wants_low(report, settings, anything_on), now, self._on_s, self._off_s)
        self._high.see(self._wants_high(report, settings), now, self._on_s, self._off_s)
        if self.is_low:
            return FireState.LOW
        return FireState.HIGH if self.is_high else FireState.READY

    def _wants_low(
        self, report: FireReport | None, settings: FireSettings, anything_on: bool
    ) -> bool:
        if report is None or report.state is FireState.STALE:
            return False
        if report.state is FireState.HEATING and not anything_on:
            return False
        return report.celsius < settings.floor_c + (self._deadband_c if self.is_low else 0.0)

    def _wants_high(self, report: FireReport | None, settings: FireSettings) -> bool:
        if report is None or report.state is FireState.STALE:
            return False
        return report.celsius > settings.ceiling_c - (self._deadband_c if self.is_high else 0.0)
