"""What came from the broker and waits to be taken: no site crowds the others out."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field

from pullcall.board.allowance import Allowance
from pullcall.board.refusals import Refusals
from pullcall.board.stamp import Stamp
from pullcall.bus.channels import ROOT
from pullcall.bus.options import SITE

#: Bytes that wait at most: all that a thousand sites keep, and of one site more than it ever says.
_MOST_BYTES, _MOST_OF_A_SITE = 64 * 1024 * 1024, 1024 * 1024
#: Topics that wait of one site, and sites, at most: more than there are.
_MOST_TOPICS, _MOST_SITES = 64, 2000
_FLOODS = "its site says more than a board takes"


@dataclass(frozen=True, slots=True)
class Message:
    """One message as it came."""

    topic: str
    payload: bytes
    is_retained: bool
    stamp: Stamp

    @property
    def size(self) -> int:
        """Bytes that it takes up while it waits, or nearly so."""
        return len(self.topic) + len(self.payload)


@dataclass(slots=True)
class _Line:
    """What waits of one site; the latest of each topic stays in the place of the first."""

    allowance: Allowance
    waiting: dict[str, Message] = field(default_factory=dict)
    size: int = 0
    is_behind: bool = False


class Intake:
    """Sites are served in turn, each as its allowance lets it; the latest of each topic wins.

    So who says too much is behind, with what it said last, and only who keeps on filling the
    board is left out. Sans-I/O; times are the board's own seconds.
    """

    def __init__(self, refusals: Refusals) -> None:
        #: Whether so much waits in all that messages were lost.
        self.is_overfull = False
        self._refusals = refusals
        self._lines: dict[str, _Line] = {}
        self._turns: deque[str] = deque()
        self._size = 0

    def clear(self) -> None:
        """Nothing waits any more; the allowances stay as they are."""
        for site in self._turns:
            self._lines[site].waiting.clear()
            self._lines[site].size = 0
        self._turns.clear()
        self._size, self.is_overfull = 0, False

    @property
    def waiting(self) -> frozenset[str]:
        """The sites of which something waits."""
        return frozenset(self._turns)

    def put(self, message: Message, now: float) -> None:
        """Let a message wait for its turn. One too many is counted, and told once."""
        site = _site_of(message.topic)
        line = self._line(site, now)
        old = line.waiting.get(message.topic) if line else None
        size = message.size - (old.size if old else 0)
        if line is None or not self._has_room(line, old, size):
            self._refusals.add(site, "flood", _FLOODS)
            return
        if old is not None and line.is_behind:
            self._refusals.add(site, "flood", _FLOODS)
        if not line.waiting:
            self._turns.append(site)
        line.waiting[message.topic] = message
        self._grow(line, size)

    def next(self, now: float) -> Message | None:
        """The next one that may be taken; None: nothing may now."""
        for _ in range(len(self._turns)):
            site = self._turns.popleft()
            line = self._lines[site]
            message = next(iter(line.waiting.values()))
            may_go = line.allowance.allows(len(message.payload), now)
            line.is_behind = not may_go
            if may_go:
                self._take(line, message, now)
            if line.waiting:
                self._turns.append(site)
            if may_go:
                return message
        return None

    def _take(self, line: _Line, message: Message, now: float) -> None:
        del line.waiting[message.topic]
        line.allowance.take(len(message.payload), now)
        self._grow(line, -message.size)

    def _grow(self, line: _Line, size: int) -> None:
        line.size += size
        self._size += size

    def _has_room(self, line: _Line, old: Message | None, size: int) -> bool:
        if self._size + size > _MOST_BYTES:
            self.is_overfull = True
            return False
        return line.size + size <= _MOST_OF_A_SITE and (
            old is not None or len(line.waiting) < _MOST_TOPICS
        )

    def _line(self, site: str, now: float) -> _Line | None:
        known = self._lines.get(site)
        if known is not None:
            return known
        if len(self._lines) >= _MOST_SITES:
            idle = [s for s, line in self._lines.items() if _is_idle(line, now)]
            for one in idle:
                del self._lines[one]
            if not idle:
                return None
        self._lines[site] = _Line(Allowance(now))
        return self._lines[site]


def _is_idle(line: _Line, now: float) -> bool:
    return not line.waiting and line.allowance.is_full(now)


def _site_of(topic: str) -> str:
    """The site that a topic is of; those of no site are one line together."""
    site = topic.removeprefix(f"{ROOT}/").partition("/")[0]
    return site if topic.startswith(f"{ROOT}/") and SITE.fullmatch(site) else ""
