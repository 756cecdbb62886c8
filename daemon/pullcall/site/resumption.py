"""A cook is gone on with after a stop: itself, without what the core fails at, or in the worst case
another in its place."""

from __future__ import annotations

import logging
from collections.abc import Sequence
from dataclasses import dataclass, replace

from pullcall.clock import Clock
from pullcall.core.inquiry import gone_through
from pullcall.core.omission import Omission
from pullcall.events import Input
from pullcall.log.cook_entry import CookEntry
from pullcall.log.cook_file import CookFile
from pullcall.log.entries import Entry
from pullcall.site.anew import begin_anew
from pullcall.site.left_out import all_left_out
from pullcall.site.open_cook import OpenCook
from pullcall.site.options import SiteOptions
from pullcall.site.stop import of_the_stop

logger = logging.getLogger(__name__)

_ANEW = (
    "The cook could not be gone on with: a new one was begun in its place. Look at the steaks, and "
    "check their marks and settings."
)


@dataclass(frozen=True, slots=True)
class Resumed:
    """The cook to go on with, what is logged of that, and what people have to be told."""

    opened: OpenCook
    entries: tuple[Entry, ...]
    words: str = ""


class Resumption:
    """Of one logged cook. ``zero`` is its own on today's monotonic clock, ``calls`` are the lines
    of those that were logged."""

    def __init__(
        self,
        entry: CookEntry,
        cook: CookFile,
        zero: float,
        calls: Sequence[str],
        clock: Clock,
        options: SiteOptions,
    ) -> None:
        self._entry = entry
        self._cook = cook
        self._zero = zero
        self._calls = calls
        self._clock = clock
        self._options = options

    def of_itself(self) -> Resumed | None:
        """Go on with it; None where the stop was so long that it is over.

        Raises UnworkableError where the core fails at it, whatever is left out.
        """
        cook, now = self._cook, self._now()
        resumed, found = gone_through(
            cook.header, cook.inputs, self._now, cook.omissions, self._taken_up
        )
        if resumed is None:
            return None
        t = round(max(now, cook.ends_t), 3)
        return self._without([replace(omission, t=t) for omission in found], resumed)

    def in_its_place(self) -> Resumed:
        """Begin another. Raises CoreFailedError where none can be begun."""
        opened, entries = begin_anew(self._cook, self._now(), self._clock, self._options)
        stop = of_the_stop(opened, (), self._clock, self._options)
        logger.error(_ANEW)
        return Resumed(opened, (*entries, *stop), _ANEW)

    def _taken_up(self, inputs: tuple[Input, ...]) -> Resumed | None:
        """One try with a fresh core. Raises CoreFailedError."""
        opened, now = OpenCook(self._entry, self._zero), self._now()
        opened.is_rebooted = not self._entry.is_of(self._options.boot)
        opened.replay(inputs)
        if now - self._cook.ends_t > opened.longest_gap_s:
            return None
        opened.catch_up(now)
        opened.is_resumed = True
        entries = of_the_stop(opened, self._calls, self._clock, self._options)
        return Resumed(opened, tuple(entries))

    def _without(self, new: Sequence[Omission], resumed: Resumed) -> Resumed:
        """Log and tell what was left out by now."""
        opened = resumed.opened
        opened.omissions = (*self._cook.omissions, *new)
        words = all_left_out(new, opened.core.setup)
        if words:
            logger.error("%s", words)
        noted = (Entry(opened.id, omission) for omission in new)
        return Resumed(opened, (*noted, *resumed.entries), words)

    def _now(self) -> float:
        return self._clock.monotonic() - self._zero
