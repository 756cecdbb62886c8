"""A cook that begins in the place of one that cannot be gone on with, whatever is left out of it:
the same steaks, what was done to them dated back, and the settings as they stood."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from dataclasses import replace

from pullcall.clock import Clock
from pullcall.core.failure import CoreFailedError
from pullcall.core.history import History
from pullcall.core.setup import changed_setup
from pullcall.core.steak import changed
from pullcall.events import CookHeader, Lessons, Mark, Setting
from pullcall.log.cook_file import CookFile
from pullcall.log.entries import Ended, Entry
from pullcall.site.open_cook import OpenCook, begun, new_entry
from pullcall.site.options import SiteOptions

#: The start of the new cook is its own.
_ITS_OWN = "started"


def begin_anew(
    cook: CookFile, now: float, clock: Clock, options: SiteOptions
) -> tuple[OpenCook, list[Entry]]:
    """The new cook and what is logged of both; ``now`` is the old one's time, seconds.

    Raises CoreFailedError where a cook cannot be begun at all.
    """
    *others, last = _ways(cook, now, options)
    for like, marks in others:
        with suppress(CoreFailedError):
            return _begun(cook.header.cook, like, marks, clock, options)
    return _begun(cook.header.cook, *last, clock, options)


def _ways(
    cook: CookFile, now: float, options: SiteOptions
) -> Iterator[tuple[CookHeader, tuple[Mark, ...]]]:
    """What it could start from, ever less: nobody knows what the old one could not bear."""
    stood, marks = _as_it_stood(cook), _dated_back(cook, now)
    usual = replace(options.usual, steaks=stood.steaks)
    yield stood, marks
    yield usual, marks
    yield usual, ()
    yield options.usual, ()


def _begun(
    old: str, like: CookHeader, marks: tuple[Mark, ...], clock: Clock, options: SiteOptions
) -> tuple[OpenCook, list[Entry]]:
    wall = clock.wall()
    entry = new_entry(clock.monotonic(), wall, options, like)
    opened = OpenCook(entry, entry.zero_monotonic)
    opened.replay(marks)
    opened.catch_up(clock.monotonic() - opened.zero)
    over = Entry(old, Ended(wall.isoformat(timespec="seconds")))
    marked = (Entry(opened.id, mark) for mark in marks)
    return opened, [over, begun(entry), *marked]


def _as_it_stood(cook: CookFile) -> CookHeader:
    """Its settings; one that cannot be worked with stays as it was."""
    stood = cook.header
    for event in cook.inputs:
        if isinstance(event, Setting) and event.name != _ITS_OWN:
            with suppress(Exception):
                stood = _with(stood, event)
    return replace(stood, lessons=Lessons())


def _with(stood: CookHeader, setting: Setting) -> CookHeader:
    if setting.steak is None:
        return changed_setup(stood, setting)
    steaks = (changed(s, setting) if s.steak == setting.steak else s for s in stood.steaks)
    return replace(stood, steaks=tuple(steaks))


def _dated_back(cook: CookFile, now: float) -> tuple[Mark, ...]:
    """What was done and stands, at the new cook's beginning."""
    history = History()
    for event in cook.inputs:
        history.add(event)
    return tuple(
        replace(mark, t=0.0, at=round(min(mark.happened - now, 0.0), 3)) for mark in history.marks()
    )
