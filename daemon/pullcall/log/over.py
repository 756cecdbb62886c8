"""Which logged cooks are over, and which of them ``last`` means."""

from __future__ import annotations

from pullcall.events import Mark, MarkKind, Spot
from pullcall.log.cook_entry import CookEntry
from pullcall.log.logged import Logged

#: After one of these a steak is no longer on the grate.
_OFF = (MarkKind.OFF, MarkKind.BOXED, MarkKind.HANDED_IN)


def is_over(log: Logged, entry: CookEntry) -> bool:
    """Whether it was ended, or went on the grate and nothing of it is there any more: the rule of
    the page's logbook. Raises LogError.

    Who stops the daemon after the hand-in ends nothing: the next start does.
    """
    return entry.ended is not None or _is_off(log, entry)


def last_over(log: Logged) -> CookEntry | None:
    """The latest cook that is over and in which somebody did something, or that was brought in;
    None where there is none. Raises LogError."""
    over = (entry for entry in reversed(log.cooks()) if is_over(log, entry))
    return next((entry for entry in over if _was_touched(log, entry)), None)


def _is_off(log: Logged, entry: CookEntry) -> bool:
    on = dict[str, bool]()
    marks = [one for one in log.done(entry.id) if isinstance(one, Mark)]
    for mark in sorted(marks, key=lambda mark: mark.happened):
        if mark.mark is MarkKind.ON or mark.mark in _OFF:
            of = entry.header.names() if mark.steak is None else (mark.steak,)
            on |= dict.fromkeys(of, mark.mark is MarkKind.ON)
    return bool(on) and not any(on.values())


def _was_touched(log: Logged, entry: CookEntry) -> bool:
    return entry.is_imported or any(isinstance(one, Mark | Spot) for one in log.done(entry.id))
