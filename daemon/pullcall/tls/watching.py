"""Looks after a certificate again and again; what goes wrong stays here."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Callable

from pullcall.clock import Clock

_log = logging.getLogger(__name__)

#: How often, seconds.
LOOK_S = 10.0

#: Serves with what was found.
Adopt = Callable[[], None]


def nothing_new() -> None:
    """What there is to adopt where nothing changed."""


async def look_again(find: Callable[[], Adopt], clock: Clock) -> None:
    """Call ``find`` every ten seconds until cancelled, and then what it gives.

    A disk may hang, so ``find`` runs in a thread, one look at a time; connections use what is
    adopted, so that is done in the loop's own. The page goes on with the certificate it has
    whatever either raises; that is logged once, until it works again.
    """
    complaint = ""
    while True:
        await clock.sleep_until(clock.monotonic() + LOOK_S)
        try:
            adopt = await asyncio.to_thread(find)
            adopt()
            reason = ""
        except Exception as error:
            reason = f"{error} ({type(error).__name__})"
        if reason and reason != complaint:
            _log.warning(
                "The page goes on with the certificate it has. It is tried again by itself: %s",
                reason,
            )
        complaint = reason
