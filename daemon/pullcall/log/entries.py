"""What is written into the log, one thing at a time and in order."""

from __future__ import annotations

from dataclasses import dataclass

from pullcall.core.omission import Omission
from pullcall.events import Call, CookHeader, Input


@dataclass(frozen=True, slots=True)
class Begun:
    """A cook begins; its zero lies at ``zero_monotonic`` seconds on the clock of ``boot``."""

    header: CookHeader
    boot: str
    zero_monotonic: float


@dataclass(frozen=True, slots=True)
class Ended:
    """A cook is over, at the ISO 8601 wall time ``when``."""

    when: str


@dataclass(frozen=True, slots=True)
class Moved:
    """A cook's zero lies elsewhere on the monotonic clock of another boot."""

    boot: str
    zero_monotonic: float


@dataclass(frozen=True, slots=True)
class Spilled:
    """An input or omission (at ``t`` cook seconds) or an announcement, as the text it is logged
    as."""

    t: float
    body: str
    is_call: bool


What = Input | Omission | Call | Begun | Ended | Moved | Spilled


@dataclass(frozen=True, slots=True)
class Entry:
    """One thing to log for one cook."""

    cook: str
    what: What


@dataclass(frozen=True, slots=True)
class Place:
    """How far the log had come: the numbers of its last input and of its last announcement."""

    record: int = 0
    call: int = 0
