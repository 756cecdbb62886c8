"""What the next cook starts from: the settings as they stand, taught by the cooks before it."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Callable
from dataclasses import replace

from pullcall.core.cook import Cook
from pullcall.events import CookHeader, SteakSettings
from pullcall.learning.learn import taught
from pullcall.learning.lesson import Lesson
from pullcall.site.archive import read
from pullcall.site.opening import like_before

logger = logging.getLogger(__name__)

#: What earlier cooks teach is waited for so long, wall seconds.
_TEACHING_S = 3.0


class NextCook:
    """``running`` gives the cook that runs, if one does, ``usual`` is what the first one starts
    from; ``lessons`` of the earlier ones are read from the disk."""

    def __init__(
        self,
        usual: CookHeader,
        running: Callable[[], Cook | None],
        lessons: Callable[[CookHeader], tuple[Lesson, ...]],
    ) -> None:
        self._usual = usual
        self._running = running
        self._lessons = lessons

    def untaught(self, steaks: tuple[SteakSettings, ...] | None = None) -> CookHeader:
        """Its settings before it is taught; ``steaks``: others than those of the cook before."""
        before = self._running()
        if before is None:
            return self._usual
        return like_before(before, self._usual, steaks or _same_steaks(before))

    def teach(self, header: CookHeader) -> CookHeader:
        """The settings with what earlier cooks taught. A mistake in that keeps none from
        beginning: then it is untaught."""
        try:
            return taught(header, self._lessons(header))
        except Exception:
            logger.exception("What earlier cooks taught is left out of this one.")
            return header

    async def taught(self, steaks: tuple[SteakSettings, ...] | None) -> CookHeader:
        """Its settings. A disk that hangs keeps no cook from beginning: then it is untaught."""
        like = self.untaught(steaks)
        try:
            async with asyncio.timeout(_TEACHING_S):
                return await read(self.teach, like)
        except TimeoutError:
            return like


def _same_steaks(cook: Cook) -> tuple[SteakSettings, ...]:
    """The steaks' settings as they stand."""
    fresh = {"look": "", "shift_c": 0.0}  # these belonged to the steaks that were
    return tuple(replace(s.settings, **fresh) for s in cook.steaks.values())  # type: ignore[arg-type]
