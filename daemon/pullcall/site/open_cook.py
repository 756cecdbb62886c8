"""A cook that runs, whether it begins now or was running before."""

from __future__ import annotations

import secrets
from dataclasses import replace
from datetime import datetime

from pullcall.core.cook import Effect
from pullcall.core.failure import begin, run, take
from pullcall.core.omission import Omission, Span
from pullcall.core.phase import Phase
from pullcall.errors import RefusedError
from pullcall.events import Call, Condition, CookHeader, Input, Mark, Setting, Window
from pullcall.local_zone import local
from pullcall.log.cook_entry import CookEntry
from pullcall.log.entries import Begun, Entry
from pullcall.plan.wall import parse_window
from pullcall.site.options import SiteOptions

#: A cook that has begun is taken up after a stop of at most this long, seconds.
LONGEST_GAP_COOKING_S = 1800.0
#: ... and one with nothing on yet (a morning's preparation) after at most this long.
LONGEST_GAP_S = 12 * 3600.0


class OpenCook:
    """A cook that runs: its core, its zero on the monotonic clock, and what led up to now."""

    def __init__(self, entry: CookEntry, zero: float) -> None:
        self.id = entry.id
        self.zero = zero
        self.core = begin(entry.header)
        self.omissions: tuple[Omission, ...] = ()  # what it goes on without
        self.past: list[tuple[Input | None, list[Effect]]] = []
        self.is_resumed = False
        self.is_rebooted = False  # since: how long that took is known by the time of day alone

    @property
    def longest_gap_s(self) -> float:
        """A stop that was longer, seconds, would have ended the cook."""
        has_begun = any(steak.phase is not Phase.WAITING for steak in self.core.steaks.values())
        return LONGEST_GAP_COOKING_S if has_begun else LONGEST_GAP_S

    def replay(self, inputs: tuple[Input, ...]) -> None:
        """Feed what was logged."""
        for event in inputs:
            self.past.append((event, take(self.core, event)))

    def catch_up(self, now: float) -> None:
        """Run the seconds in which nobody watched."""
        self.past.append((None, run(self.core, now)))

    def check(self, event: Input) -> None:
        """Raise RefusedError, saying what to do, for an input that makes no sense, and for one that
        was left out and comes again as it was: what the shell enters by itself would for ever."""
        self.core.check(event)
        if any(_is_again(event, omission.what) for omission in self.omissions):
            raise RefusedError("The calls failed at just this before: give something else.")

    def calls(self) -> list[Call]:
        """Every announcement so far."""
        return [e for _, effects in self.past for e in effects if isinstance(e, Call)]


def _is_again(event: Input, left_out: Input | Span) -> bool:
    """Whether it says the same. A mark of now does not, and people may measure again."""
    match event, left_out:
        case Setting(), Setting():
            return replace(event, t=left_out.t) == left_out
        case Condition(), Condition():
            return replace(event, t=left_out.t) == left_out
        case Mark(at=float()), Mark():
            return replace(event, t=left_out.t, id=left_out.id) == left_out
    return False


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
        window=window_for(options, like, wall),
    )
    return CookEntry(header, options.boot, monotonic, None)


def window_for(options: SiteOptions, like: CookHeader, wall: datetime) -> Window | None:
    """A window that is still open, or the next one that the configuration names."""
    if like.window is not None and datetime.fromisoformat(like.window.closes) > wall:
        return like.window
    return parse_window(options.window, local(wall)) if options.window else None
