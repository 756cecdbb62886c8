"""Taking up a cook: a new one, or the one that was running when the daemon stopped."""

from __future__ import annotations

import secrets
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import datetime
from types import MappingProxyType
from typing import Protocol

from pullcall.clock import Clock
from pullcall.core.cook import Cook, Effect
from pullcall.core.phase import Phase
from pullcall.events import (
    Acknowledgement,
    Call,
    CookHeader,
    Input,
    Lessons,
    Mark,
    Reached,
    Restart,
    Setting,
    Spot,
    SteakSettings,
    Window,
)
from pullcall.local_zone import local
from pullcall.log.cook_entry import CookEntry
from pullcall.log.cook_file import CookFile
from pullcall.log.entries import Begun, Ended, Entry, Moved
from pullcall.log.starts import latest_start, start_of
from pullcall.log.with_waiting import LogWithWaiting
from pullcall.plan.wall import parse_window
from pullcall.site.options import SiteOptions

#: Makes of the settings that a new cook starts from those that earlier cooks taught.
Teach = Callable[[CookHeader], CookHeader]
#: A cook that has begun is taken up after a stop of at most this long, seconds.
_LONGEST_GAP_COOKING_S = 1800.0
#: ... and one with nothing on yet (a morning's preparation) after at most this long.
LONGEST_GAP_S = 12 * 3600.0


class OpenCook:
    """A cook that runs: its core, its zero on the monotonic clock, and what led up to now."""

    def __init__(self, entry: CookEntry, zero: float) -> None:
        self.id = entry.id
        self.zero = zero
        self.core = Cook(entry.header)
        self.past: list[tuple[Input | None, list[Effect]]] = []
        self.is_resumed = False
        self.is_rebooted = False  # since: how long that took is known by the time of day alone

    @property
    def longest_gap_s(self) -> float:
        """A stop that was longer, seconds, would have ended the cook."""
        has_begun = any(steak.phase is not Phase.WAITING for steak in self.core.steaks.values())
        return _LONGEST_GAP_COOKING_S if has_begun else LONGEST_GAP_S

    def replay(self, inputs: tuple[Input, ...]) -> None:
        """Feed what was logged."""
        for event in inputs:
            self.past.append((event, self.core.apply(event)))

    def catch_up(self, now: float) -> None:
        """Run the seconds in which nobody watched."""
        self.past.append((None, self.core.advance(now)))

    def calls(self) -> list[Call]:
        """Every announcement so far."""
        return [e for _, effects in self.past for e in effects if isinstance(e, Call)]


class Pen(Protocol):
    """What has the log."""

    def log(self) -> LogWithWaiting:
        """The log with what waits for it."""

    def keep_now(self, entries: Sequence[Entry]) -> None:
        """Log these, or have them wait for it."""


def open_cook(pen: Pen, clock: Clock, options: SiteOptions, teach: Teach) -> OpenCook:
    """The cook to go on with; calls that fell into the stop are logged, late. A new one is taught
    by earlier cooks."""
    log = pen.log()
    unfinished = [entry for entry in log.cooks() if entry.ended is None]
    for entry in reversed(unfinished):
        resumed = _resume(entry, log, clock, options, teach) if options.goes_on else None
        if resumed is not None:
            pen.keep_now(_of_the_stop(resumed, len(log.call_lines(entry.id)), clock, options))
            return resumed
        pen.keep_now([Entry(entry.id, Ended(clock.wall().isoformat(timespec="seconds")))])
    entry = new_entry(clock.monotonic(), clock.wall(), options, teach(options.usual))
    pen.keep_now([begun(entry)])
    return OpenCook(entry, entry.zero_monotonic)


def begun(entry: CookEntry) -> Entry:
    """What is logged of a cook that begins."""
    return Entry(entry.id, Begun(entry.header, entry.boot, entry.zero_monotonic))


def new_entry(
    monotonic: float, wall: datetime, options: SiteOptions, like: CookHeader
) -> CookEntry:
    """A cook that begins now, with settings like those of another."""
    header = replace(
        like,
        cook=f"{wall:%Y%m%d-%H%M%S}-{secrets.token_hex(2)}",
        started=wall.isoformat(timespec="milliseconds"),
        window=_window(options, like, wall),
    )
    return CookEntry(header, options.boot, monotonic, None)


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


def _window(options: SiteOptions, like: CookHeader, wall: datetime) -> Window | None:
    """A window that is still open, or the next one that the configuration names."""
    if like.window is not None and datetime.fromisoformat(like.window.closes) > wall:
        return like.window
    return parse_window(options.window, local(wall)) if options.window else None


def _resume(
    entry: CookEntry, log: LogWithWaiting, clock: Clock, options: SiteOptions, teach: Teach
) -> OpenCook | None:
    cook = log.cook(entry.id)
    inputs, last = cook.inputs, cook.ends_t
    opened = OpenCook(entry, _zero_of(entry, cook, clock, options))
    opened.is_rebooted = not _is_same_boot(entry, options)
    now = clock.monotonic() - opened.zero
    if now - last > LONGEST_GAP_S:
        return None
    if not _is_touched(inputs) and not _is_usual(entry.header, clock.wall(), options, teach):
        return None
    opened.replay(inputs)
    if now - last > opened.longest_gap_s:
        return None
    opened.catch_up(now)
    opened.is_resumed = True
    return opened


def _is_touched(inputs: tuple[Input, ...]) -> bool:
    """Whether a person has done anything to a cook; readings and faults come by themselves."""
    by_people = (e for e in inputs if isinstance(e, Mark | Spot | Setting | Acknowledgement))
    return any(start_of(event) is None for event in by_people)  # clocks set the start right


def _is_usual(header: CookHeader, wall: datetime, options: SiteOptions, teach: Teach) -> bool:
    """Whether a cook that began now would start from the same settings."""
    fresh = replace(
        teach(options.usual),
        cook=header.cook,
        started=header.started,
        window=_window(options, options.usual, wall),
    )
    return fresh == header


def _of_the_stop(
    opened: OpenCook, announced: int, clock: Clock, options: SiteOptions
) -> list[Entry]:
    """What is logged of a cook that is taken up: calls that fell into the stop, and that it was
    started again: what nobody answered sounds again at the next second."""
    now = clock.monotonic() - opened.zero
    opened.catch_up(now)  # taking it up took time: no second of that may be passed over
    late: list[Input | Call] = list(opened.calls()[announced:])
    if late:
        late.insert(0, reached := Reached(opened.core.stamp(now)))
        opened.replay((reached,))
    restart = Restart(opened.core.stamp(now))
    opened.replay((restart,))
    moved = Entry(opened.id, Moved(options.boot, opened.zero))
    return [*(Entry(opened.id, event) for event in (*late, restart)), moved]


def _zero_of(entry: CookEntry, cook: CookFile, clock: Clock, options: SiteOptions) -> float:
    """The cook's zero on today's monotonic clock; by the time of day where the machine was
    restarted, from the start as it is known best.

    Now is never before the last input and the time since the machine was started again, whatever
    a clock says that went back (a board without a battery).
    """
    if _is_same_boot(entry, options):
        return entry.zero_monotonic
    now = clock.monotonic()
    since_boot_s = 0.0 if "unknown" in (entry.boot, options.boot) else now
    started = latest_start(cook.inputs) or entry.header.started
    gone = clock.wall() - datetime.fromisoformat(started)
    return now - max(gone.total_seconds(), cook.ends_t + since_boot_s)


def _is_same_boot(entry: CookEntry, options: SiteOptions) -> bool:
    """Whether its zero lies on today's monotonic clock."""
    return entry.boot == options.boot != "unknown"
