"""What the daemon says beside its work: lines that nobody else can shape, and never a flood.

Strangers cause some of them (a request that is none, a code that is wrong), with texts of theirs
in it. A journal takes room on the card that the cook log is on.
"""

from __future__ import annotations

import logging
import threading
from collections import Counter
from collections.abc import Callable

from pullcall.buckets import Buckets, Limit
from pullcall.clock import RealClock
from pullcall.printable import printable

#: Of one kind: this many after a rest, and one every ten seconds in the long run.
OF_A_KIND = Limit(0.1, 30)
#: Before each line of what follows a message, so that none can be taken for a message.
_BELOW = "    "


class Lines(logging.Formatter):
    """A line for each message, and below it, indented, where it was raised."""

    def format(self, record: logging.LogRecord) -> str:
        """The record as text."""
        text = printable(record.getMessage())
        if record.exc_info and not record.exc_text:
            record.exc_text = self.formatException(record.exc_info)
        below = (record.exc_text or "").splitlines()
        return "\n".join([text, *(f"{_BELOW}{printable(line)}" for line in below)])


class Seldom(logging.Filter):
    """Lets a kind of message pass as often as its limit allows, and tells how many did not.

    A kind is the place that a message comes from, whatever it is about.
    """

    def __init__(self, limit: Limit = OF_A_KIND, now: Callable[[], float] | None = None) -> None:
        super().__init__()
        self._buckets = Buckets(limit)
        self._now = now or RealClock().monotonic
        self._left_out: Counter[str] = Counter()
        self._lock = threading.Lock()

    def filter(self, record: logging.LogRecord) -> bool:
        """Whether a record is written."""
        kind = f"{record.name}:{record.lineno}"
        with self._lock:
            if self._buckets.take(kind, self._now()) > 0.0:
                self._left_out[kind] += 1
                return False
            left_out = self._left_out.pop(kind, 0)
        if left_out:
            record.msg = f"{record.getMessage()} (and {left_out} more of this kind)"
            record.args = None
        return True


def begin() -> None:
    """Write what is logged from now on to standard error."""
    handler = logging.StreamHandler()
    handler.setFormatter(Lines())
    handler.addFilter(Seldom())
    logging.basicConfig(level=logging.INFO, handlers=[handler])
