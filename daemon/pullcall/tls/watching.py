"""Looks after a certificate again and again; what goes wrong stays here."""

from __future__ import annotations

import logging
from collections.abc import Callable

from pullcall.clock import Clock

_log = logging.getLogger(__name__)

#: How often, seconds.
LOOK_S = 10.0


async def look_again(look: Callable[[], object], clock: Clock) -> None:
    """Call ``look`` every ten seconds until cancelled.

    The page goes on with the certificate it has whatever ``look`` raises; that is logged once,
    until it works again.
    """
    complaint = ""
    while True:
        await clock.sleep_until(clock.monotonic() + LOOK_S)
        try:
            look()
            reason = ""
        except Exception as error:
            reason = f"{error} ({type(error).__name__})"
        if reason and reason != complaint:
            _log.warning(
                "The page goes on with the certificate it has. It is tried again by itself: %s",
                reason,
            )
        complaint = reason
