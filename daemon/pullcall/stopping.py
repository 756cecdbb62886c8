"""How the process is told to stop, and what happens where it does not."""

from __future__ import annotations

import asyncio
import faulthandler
import logging
import os
import signal
import threading

_log = logging.getLogger(__name__)

_TOO_LONG = "Pullcall did not stop within %.0f s, so it is ended. Nothing that was logged is lost."


def stop_asked() -> asyncio.Event:
    """An event that the first SIGINT or SIGTERM sets; a second one ends the process at once,
    whatever it is stuck in."""
    asked = asyncio.Event()
    loop = asyncio.get_running_loop()

    def heard() -> None:
        for number in (signal.SIGINT, signal.SIGTERM):
            loop.remove_signal_handler(number)
            signal.signal(number, signal.SIG_DFL)
        asked.set()

    for number in (signal.SIGINT, signal.SIGTERM):
        loop.add_signal_handler(number, heard)
    return asked


def end_within(seconds: float) -> None:
    """End the process after so long, unless it has ended: also where the loop or a thread hangs.

    The journal then has where each thread stood. Cannot be taken back.
    """
    timer = threading.Timer(seconds, _end, (seconds,))
    timer.daemon = True
    timer.start()


def _end(seconds: float) -> None:
    _log.error(_TOO_LONG, seconds)
    faulthandler.dump_traceback()
    os._exit(1)
