"""Taking up a cook: a new one, or the one that was running when the daemon stopped."""

from __future__ import annotations

import logging
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import datetime
from types import MappingProxyType
from typing import Protocol

from pullcall.clock import Clock
from pullcall.core.cook import Cook
from pullcall.errors import UnworkableError
from pullcall.events import (
    Acknowledgement,
    CookHeader,
    Lessons,
    Mark,
    Setting,
    Spot,
    SteakSettings,
)
from pullcall.log.cook_entry import CookEntry
from pullcall.log.cook_file import CookFile
from pullcall.log.entries import Ended, Entry
from pullcall.log.starts import latest_start, start_of
from pullcall.log.with_waiting import LogWithWaiting
from pullcall.site.open_cook import (
    LONGEST_GAP_COOKING_S,
    LONGEST_GAP_S,
    OpenCook,
    begun,
    new_entry,
    window_for,
)
from pullcall.site.options import SiteOptions
from pullcall.site.resumption import Resumed, Resumption

logger = logging.getLogger(__name__)
#: Makes of the settings that a new cook starts from those that earlier cooks taught.
Teach = Callable[[CookHeader], CookHeader]


class Pen(Protocol):
    """What has the log."""

    def log(self) -> LogWithWaiting:
        """The log with what waits for it."""

    def keep_now(self, entries: Sequence[Entry]) -> None:
        """Log these, or have them wait for it."""

    def tell(self, words: str) -> None:
        """Let people know of what was found in it."""


def open_cook(pen: Pen, clock: Clock, options: SiteOptions, teach: Teach) -> OpenCook:
    """The cook to go on with; calls that fell into the stop are logged, late. A new one is taught
    by earlier cooks."""
    log = pen.log()
    unfinished = [entry for entry in log.cooks() if entry.ended is None]
    for entry in reversed(unfinished):
        resumed = _resume(entry, log, clock, options, teach) if options.goes_on else None
        if resumed is not None:
            pen.keep_now(resumed.entries)
            pen.tell(resumed.words)
            return resumed.opened
        pen.keep_now([Entry(entry.id, Ended(clock.wall().isoformat(timespec="seconds")))])
    entry = new_entry(clock.monotonic(), clock.wall(), options, teach(options.usual))
    opened = OpenCook(entry, entry.zero_monotonic)
    pen.keep_now([begun(entry)])
    return opened


def like_before(before: Cook, usual: CookHeader, steaks: tuple[SteakSettings, ...]) -> CookHeader:
    """What a cook starts from that begins after another, but for lessons: its settings as they
    stood, with the durations that were not taught but set by hand."""
    first, stood = before.header, before.setup
    taught = {n for n in first.lessons.durations if stood.durations.get(n) == first.durations[n]}
    by_hand = {name: range_ for name, range_ in stood.durations.items() if name not in taught}
    return replace(
        stood,
        steaks=steaks,
        durations=MappingProxyType({**usual.durations, **by_hand}),
        lessons=Lessons(),
    )


def _resume(
    entry: CookEntry, log: LogWithWaiting, clock: Clock, options: SiteOptions, teach: Teach
) -> Resumed | None:
    cook = log.cook(entry.id)
    zero = _zero_of(entry, cook, clock, options)
    gap_s = clock.monotonic() - zero - cook.ends_t
    if gap_s > LONGEST_GAP_S:
        return None
    if not _is_touched(cook) and not _is_usual(entry.header, clock.wall(), options, teach):
        return None
    resumption = Resumption(entry, cook, zero, log.call_lines(entry.id), clock, options)
    try:
        return resumption.of_itself()
    except UnworkableError as exc:
        logger.error("%s", exc)
        return resumption.in_its_place() if gap_s <= LONGEST_GAP_COOKING_S else None


def _is_touched(cook: CookFile) -> bool:
    """Whether a person has done anything to a cook; readings and faults come by themselves."""
    kinds = Mark | Spot | Setting | Acknowledgement
    by_people = (event for event in cook.inputs if isinstance(event, kinds))
    is_set = any(start_of(event) is None for event in by_people)  # clocks set the start right
    return is_set or bool(cook.omissions)


def _is_usual(header: CookHeader, wall: datetime, options: SiteOptions, teach: Teach) -> bool:
    """Whether a cook that began now would start from the same settings."""
    fresh = replace(
        teach(options.usual),
        cook=header.cook,
        started=header.started,
        window=window_for(options, options.usual, wall),
    )
    return fresh == header


def _zero_of(entry: CookEntry, cook: CookFile, clock: Clock, options: SiteOptions) -> float:
    """The cook's zero on today's monotonic clock; by the time of day where the machine was
    restarted, from the start as it is known best.

    Now is never before the last input and the time since the machine was started again, whatever
    a clock says that went back (a board without a battery).
    """
    if entry.is_of(options.boot):
        return entry.zero_monotonic
    now = clock.monotonic()
    since_boot_s = 0.0 if "unknown" in (entry.boot, options.boot) else now
    started = latest_start(cook.inputs) or entry.header.started
    gone = clock.wall() - datetime.fromisoformat(started)
    return now - max(gone.total_seconds(), cook.ends_t + since_boot_s)
