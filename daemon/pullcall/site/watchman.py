"""Looks for faults around the cook once a second and enters them as inputs, like everything else
that the calls follow from."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from pullcall.events import Condition, Fault
from pullcall.site.free_space import FreeSpace
from pullcall.site.wall_clock import WallWatch
from pullcall.sources.sink import ProbeStatus

#: Below this a probe's battery may not last the cook, percent.
LOW_BATTERY = 15
#: A jump of the clock is told for this long, seconds.
_JUMP_TOLD_S = 60.0

Fact = tuple[Fault, str]


@dataclass(frozen=True, slots=True)
class Sight:
    """What the watchman sees at one look. ``doubt`` is what is not known of the time of day (see
    :class:`pullcall.site.time_of_day.TimeOfDay`), ``is_asked`` whether the cook has to say it."""

    wall: datetime
    monotonic: float
    is_heard: bool
    is_recording: bool
    probes: tuple[ProbeStatus, ...]
    doubt: str | None = None
    is_asked: bool = False


class Watchman:
    """Remembers only the clock; what is known to be wrong is in the cook."""

    def __init__(self, log: Path) -> None:
        self.free = FreeSpace(log.parent)
        self._wall = WallWatch()
        self._jumped = -_JUMP_TOLD_S

    def changes(self, sight: Sight, known: Iterable[Fact], t: float) -> list[Condition]:
        """The faults that began or ended since ``known``, as inputs at ``t`` cook seconds."""
        seen, before = set(self._faults(sight)), set(known)
        began = [Condition(t, fault, True, detail) for fault, detail in sorted(seen - before)]
        ended = [Condition(t, fault, False, detail) for fault, detail in sorted(before - seen)]
        return [*began, *ended]

    def _faults(self, sight: Sight) -> Iterator[Fact]:
        if not sight.is_heard:
            yield Fault.UNHEARD, ""
        if not sight.is_recording:
            yield Fault.RECORDER, ""
        if self.free.is_low():
            yield Fault.DISK, ""
        if self._wall.jumped(sight.wall, sight.monotonic):
            self._jumped = sight.monotonic
        if sight.is_asked or sight.monotonic - self._jumped < _JUMP_TOLD_S:
            yield Fault.CLOCK, ""
        if sight.doubt is not None:
            yield Fault.UNSET, sight.doubt
        for probe in sight.probes:
            if probe.battery_percent is not None and probe.battery_percent < LOW_BATTERY:
                yield Fault.BATTERY, probe.name
