"""What the time of day of a cook is worth, and what follows when the machine's clock is set.

The time of day of a cook is its start and the seconds since, and those run on the monotonic clock:
it never jumps by itself, and no call moves, whatever happens to the machine's clock. The rules:

* Not *known* yet (nothing outside kept the clock right, and no cook compared it): the start
  follows the clock forward, and backward once it is kept right; the window is meant anew, at
  the same hours and minutes.
* Known: a step moves nothing. While the machine's clock says another time the cook is asked, and
  the answer sets the start; the window stays the moment it was.
* A start that is known and a gap that is not (the board was restarted and its clock not set): once
  the clock is known the seconds that are missing are made up for, never more than a stop may last.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from pullcall.core.setup import window_text
from pullcall.events import CookHeader, Fault, Window
from pullcall.local_zone import local
from pullcall.plan.wall import meant_anew, zero_of
from pullcall.site.open_cook import OpenCook
from pullcall.site.wall_clock import JUMP_S, Trust

#: The cook is asked from so far apart, seconds: a window is meant to the minute.
ASKED_FROM_S = 30.0
#: A correction has come into force after so many looks.
_SETTLES_IN = 5


@dataclass(frozen=True, slots=True)
class Correction:
    """What sets a cook right: ``settings`` of the cook by name, and by how many seconds more than
    was thought it has run."""

    settings: tuple[tuple[str, str], ...] = ()
    missing_s: float = 0.0


RIGHT = Correction()


class TimeOfDay:
    """Follows the machine's clock for one cook after the other. No clock of its own."""

    def __init__(self, trust: Trust) -> None:
        self._trust = trust
        self._is_known = False
        self._is_gap_guessed = False
        self._apart_s = 0.0
        self._agreed_s = 0.0
        self._settling = 0

    @property
    def doubt(self) -> str | None:
        """What is not known: "" the time of day, "gap" how long a restart took; None: nothing."""
        if self._is_gap_guessed:
            return "gap"
        return None if self._is_known else ""

    @property
    def asked_s(self) -> float | None:
        """By how much the machine's clock is ahead of the cook's (negative: behind), where the
        cook has to say which is right."""
        far = min(abs(self._apart_s), abs(self._apart_s - self._agreed_s))
        return self._apart_s if self._is_known and far > ASKED_FROM_S else None

    def take_up(self, opened: OpenCook, machine: datetime, t: float) -> None:
        """Begin with a cook at ``t`` of its seconds."""
        is_kept, core = self._trust(), opened.core
        was_known = opened.is_resumed and (Fault.UNSET, "") not in core.faults()
        self._is_known = is_kept or was_known
        self._is_gap_guessed = opened.is_rebooted and not is_kept
        self._apart_s = _apart_s(core.setup, machine, t)
        self._agreed_s = 0.0 if is_kept else self._apart_s

    def look(self, opened: OpenCook, machine: datetime, t: float) -> Correction:
        """What is to be set right at ``t``, by the machine's clock."""
        is_kept = self._trust()
        apart_s = _apart_s(opened.core.setup, machine, t)
        if self._is_settling(apart_s):
            return RIGHT
        self._apart_s = apart_s
        if abs(apart_s) <= ASKED_FROM_S:
            self._agreed_s = 0.0
        if self._is_known and not (self._is_gap_guessed and is_kept):
            return RIGHT
        correction = RIGHT
        if apart_s > JUMP_S or (is_kept and apart_s < -JUMP_S):
            correction = self._corrected(opened, machine, t, apart_s)
            self._apart_s, self._agreed_s, self._settling = 0.0, 0.0, _SETTLES_IN
        self._is_known = self._is_known or is_kept
        self._is_gap_guessed = self._is_gap_guessed and not is_kept
        return correction

    def _is_settling(self, apart_s: float) -> bool:
        """Whether a correction has yet to be entered, which may wait for the disk."""
        self._settling = max(0, self._settling - 1) if abs(apart_s) > JUMP_S else 0
        return self._settling > 0

    def confirm(self, opened: OpenCook, wall: datetime, machine: datetime, t: float) -> Correction:
        """What is to be set right at ``t``, where the cook says that it is ``wall``."""
        apart_s = _apart_s(opened.core.setup, wall, t)
        correction = self._corrected(opened, wall, t, apart_s)
        self._is_known, self._is_gap_guessed = True, False
        self._apart_s = self._agreed_s = (machine - wall).total_seconds()
        return correction

    def _corrected(self, opened: OpenCook, wall: datetime, t: float, apart_s: float) -> Correction:
        setup = opened.core.setup
        if self._is_gap_guessed and self._is_known and 0.0 < apart_s <= opened.longest_gap_s:
            return Correction(missing_s=apart_s)
        zero = wall - timedelta(seconds=t)
        started = ("started", zero.isoformat(timespec="milliseconds"))
        window = None if self._is_known else _window_anew(setup, wall)
        if window in (None, setup.window):
            return Correction((started,))
        return Correction((started, ("window", window_text(window) or "")))


def _apart_s(setup: CookHeader, wall: datetime, t: float) -> float:
    """By how much ``wall`` is ahead of the cook's time of day at ``t``, seconds."""
    zero = zero_of(setup)
    return 0.0 if zero is None else (wall - zero).total_seconds() - t


def _window_anew(setup: CookHeader, wall: datetime) -> Window | None:
    """The window as it was meant; None where there is none, or it cannot be said."""
    try:
        return None if setup.window is None else meant_anew(setup.window, local(wall))
    except ValueError:
        return None
