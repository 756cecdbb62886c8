"""Bounds for a process that talks to strangers: it may fail, but alone."""

from __future__ import annotations

import os
import resource
import signal

#: Everything else goes first.
_NICENESS = 5
#: Memory that it may take for itself, bytes: some ten times what it needs.
_MOST_MEMORY = 256 * 1024 * 1024


def keep_within_bounds() -> None:
    """Bound this process.

    It ends with its input, never by a signal that is meant for the daemon: Ctrl-C and a stop reach
    all of them at once, and a goodbye is still to be said.
    """
    os.nice(_NICENESS)
    resource.setrlimit(resource.RLIMIT_DATA, (_MOST_MEMORY, _MOST_MEMORY))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))  # it would hold the password
    for number in (signal.SIGINT, signal.SIGTERM):
        signal.signal(number, signal.SIG_IGN)
