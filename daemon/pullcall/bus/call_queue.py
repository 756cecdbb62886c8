"""Announcements on their way out; one that would mislead is dropped."""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from pullcall.bus.channels import CALL
from pullcall.bus.publication import Json, Publication
from pullcall.bus.stamps import Stamps, User

#: How long a call may be late, real seconds, by priority (a judgement: what has to be done at
#: once, and sounds again every five seconds; what within minutes; what later).
_LASTS_S = {1: 5.0, 2: 30.0, 3: 300.0}
#: One that says in how many seconds something is due is late with every second: no longer.
_COUNTDOWN_LASTS_S = 5.0
#: A broker counts in whole seconds: with less left there is no way to say so.
_LEAST_S = 1.0
#: Calls that wait at most; the oldest goes first.
_MOST = 64


def lasts_s(call: Json, age_s: float, speed: float) -> float:
    """How long an announcement of a call made ``age_s`` ago stays true from now, real seconds.

    ``speed`` is how many times faster than life the cook's clock runs. ``in_s`` of 0 means now.
    """
    if call["in_s"]:
        return min(float(call["in_s"]) / speed, _COUNTDOWN_LASTS_S) - age_s
    return _LASTS_S[call["priority"]] - age_s


@dataclass(slots=True, eq=False)
class _Waiting:
    payload: bytes
    until: float
    user: User
    may_be_out: bool = False


class CallQueue:
    """First in, first out; each is numbered as it is put, so that a repeat can be told.

    ``dropped`` counts those that were not sent in time, ``unconfirmed`` those that were sent, and
    of which nobody knows whether the broker had them in time.
    """

    def __init__(self, site: str, epoch: str) -> None:
        self.dropped = 0
        self.unconfirmed = 0
        self._topic = CALL.topic(site)
        self._stamps = Stamps(epoch)
        self._waiting: deque[_Waiting] = deque()
        self._shown: _Waiting | None = None

    def put(self, payload: bytes, left_s: float, now: float) -> None:
        """Queue an announcement that stays true for ``left_s`` seconds."""
        if len(self._waiting) == _MOST:
            self._drop(self._waiting[0])
        self._waiting.append(_Waiting(payload, now + left_s, self._stamps.next()))

    def first(self, now: float, wall: datetime) -> Publication | None:
        """What is to be sent next; it stays the first until :meth:`sent`.

        ``now`` is monotonic seconds, ``wall`` the site's time of day.
        """
        self.drop_old(now, _LEAST_S)
        if not self._waiting:
            return None
        self._shown = shown = self._waiting[0]
        shown.may_be_out = True
        left_s = shown.until - now
        user = (*shown.user, ("until", _text(wall + timedelta(seconds=left_s))))
        expires_s = math.floor(left_s)
        return Publication(self._topic, shown.payload, CALL.qos, CALL.retained, expires_s, user)

    def sent(self) -> None:
        """The broker has what :meth:`first` gave."""
        if self._waiting and self._waiting[0] is self._shown:  # else it was dropped meanwhile
            self._waiting.popleft()

    def drop_old(self, now: float, least_s: float = 0.0) -> None:
        """Drop what has less than ``least_s`` left, also while nothing can be sent."""
        for old in [one for one in self._waiting if one.until - now < least_s]:
            self._drop(old)

    def _drop(self, one: _Waiting) -> None:
        self._waiting.remove(one)
        if one.may_be_out:
            self.unconfirmed += 1
        else:
            self.dropped += 1


def _text(moment: datetime) -> str:
    """ISO 8601 in UTC, with milliseconds."""
    text = moment.astimezone(UTC).isoformat(timespec="milliseconds")
    return text.replace("+00:00", "Z")
