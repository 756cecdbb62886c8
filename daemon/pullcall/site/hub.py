"""Numbered messages to any number of pages, with resume; who fell behind begins anew.

Whoever cooks listens: each message is queued for them and sent at once. Whoever watches follows:
one tail of messages is kept for all of them, and each takes what is new when its turn comes, so
that a thousand of them cost a message no more than one.
"""

from __future__ import annotations

import asyncio
import secrets
from abc import ABC, abstractmethod
from collections import deque
from collections.abc import Mapping
from itertools import islice
from typing import Any

from pullcall.log.records import to_line

#: Messages kept for a page that comes back: about two minutes of two probes and forecasts.
_KEPT = 1500
#: Messages a page may fall behind before they are dropped, and it is told everything anew.
_QUEUE = 256
#: How often a page that watches is sent what is new, seconds.
ROUND_S = 1.0
#: Multiples of it, modulo one, lie evenly however many there are (Weyl's sequence, from memory).
_GOLDEN = (5.0**0.5 - 1.0) / 2.0


class Listener:
    """One connected page's queue of ready-made JSON lines; None where there is a gap, or an end.

    After a burst (the machine slept, and what it missed is worked out in one go) a page that reads
    has had no chance to: whether it takes nothing at all is for its connection to find out.
    """

    def __init__(self) -> None:
        self.queue: asyncio.Queue[str | None] = asyncio.Queue(maxsize=_QUEUE)
        self.is_gone = False
        self._is_behind = False

    def put(self, line: str) -> None:
        """Queue a line; a full queue is dropped, and so is what comes until that was seen."""
        if self.is_gone or self._is_behind:
            return
        if self.queue.full():
            self._is_behind = True
            self._drop()
        else:
            self.queue.put_nowait(line)

    async def next(self) -> list[str] | None:
        """What is to be sent, as soon as there is anything.

        None where lines were dropped: everything has to be told anew, before anything else is
        awaited. If ``is_gone`` nothing comes any more.
        """
        line = await self.queue.get()
        if line is None:
            self._is_behind = False
        return None if line is None else [line]

    def let_go(self) -> None:
        """End this page's stream at once: what it has not taken is dropped."""
        self.is_gone = True
        self._drop()

    def _drop(self) -> None:
        while not self.queue.empty():
            self.queue.get_nowait()
        self.queue.put_nowait(None)


class Tail:
    """The last messages, for any number of followers."""

    def __init__(self) -> None:
        self.told = 0
        self._lines: deque[str] = deque(maxlen=_KEPT)

    def tell(self, line: str) -> None:
        """One more; the oldest is forgotten."""
        self.told += 1
        self._lines.append(line)

    def after(self, told: int) -> list[str] | None:
        """What was told after the first ``told``; None where some of it is forgotten."""
        new = self.told - told
        if new > len(self._lines):
            return None
        return list(islice(self._lines, len(self._lines) - new, None))


class Follower:
    """One page that watches: it knows only how far it has come."""

    def __init__(self, tail: Tail, turn: float) -> None:
        """``turn``: when in each round it takes what is new, as a share of the round."""
        self.is_gone = False
        self._tail = tail
        self._told = tail.told
        self.wait_s = turn * ROUND_S

    async def next(self) -> list[str] | None:
        """What is to be sent at its next turn, once there is anything; None as a listener's."""
        while True:
            await asyncio.sleep(self.wait_s)
            self.wait_s = ROUND_S
            lines = self.taken()
            if lines != []:
                return lines

    def taken(self) -> list[str] | None:
        """What is new; None where it was let go, or fell too far behind and begins anew."""
        lines = None if self.is_gone else self._tail.after(self._told)
        self._told = self._tail.told
        return lines

    def let_go(self) -> None:
        """End this page's stream at its next turn."""
        self.is_gone = True


#: A connected page, whichever way it is fed.
Page = Listener | Follower


class Stream(ABC):
    """Messages one after the other, wherever they go."""

    def __init__(self) -> None:
        self._shown: dict[str, Mapping[str, Any]] = {}

    @abstractmethod
    def publish(self, type: str, body: Mapping[str, Any]) -> None:
        """Send a message."""

    def publish_changed(self, type: str, body: Mapping[str, Any]) -> None:
        """Publish a message of which there is one at a time, unless it says what it said last."""
        if body != self._shown.get(type):
            self._shown[type] = body
            self.publish(type, body)


class Audience:
    """The pages that listen to one stream."""

    def __init__(self) -> None:
        super().__init__()
        self._listeners: set[Listener] = set()
        self._followers: set[Follower] = set()
        self._tail = Tail()
        self._joined = 0

    @property
    def count(self) -> int:
        """How many pages listen or follow."""
        return len(self._listeners) + len(self._followers)

    def join(self) -> Listener:
        """A new listener, from now on."""
        listener = Listener()
        self._listeners.add(listener)
        return listener

    def follow(self) -> Follower:
        """A new follower, from now on; the turns of many are spread over the round."""
        self._joined += 1
        follower = Follower(self._tail, self._joined * _GOLDEN % 1.0)
        self._followers.add(follower)
        return follower

    def leave(self, page: Page) -> None:
        """Forget a page."""
        if isinstance(page, Listener):
            self._listeners.discard(page)
        else:
            self._followers.discard(page)

    def tell(self, line: str) -> None:
        """Hand a line to everyone who is here."""
        self._tail.tell(line)
        for listener in self._listeners:
            listener.put(line)

    def close(self) -> None:
        """Let everyone go."""
        pages: list[Page] = [*self._listeners, *self._followers]
        for page in pages:
            page.let_go()


class Hub(Audience, Stream):
    """Hands each message once to every listener and keeps the last ones for those who return."""

    def __init__(self, kept: int = _KEPT) -> None:
        """``kept``: how many messages are kept for a page that comes back."""
        super().__init__()
        self.epoch = secrets.token_hex(6)
        self.seq = 0
        self._kept: deque[tuple[int, str]] = deque(maxlen=kept)

    @property
    def is_watched(self) -> bool:
        """Whether publishing is of any use; else what is published gets no number."""
        return True

    def publish(self, type: str, body: Mapping[str, Any]) -> None:
        """Number a message, keep it, and hand it to everyone."""
        self.seq += 1
        line = to_line({"type": type, "seq": 0, **body} | {"seq": self.seq})
        self._kept.append((self.seq, line))
        self.tell(line)

    def whisper(self, type: str, body: Mapping[str, Any]) -> None:
        """Hand an unnumbered message to everyone who is here; nobody misses it later."""
        self.tell(to_line({"type": type, **body}))

    def restart(self) -> None:
        """Begin a new epoch: whoever resumes gets a fresh snapshot."""
        self.epoch = secrets.token_hex(6)
        self._kept.clear()
        self._shown.clear()

    def missed(self, epoch: str | None, since: int | None) -> list[str] | None:
        """The lines after ``since``; None where only a snapshot can help."""
        if epoch != self.epoch or since is None or since > self.seq:
            return None
        oldest = self._kept[0][0] if self._kept else self.seq + 1
        if since < oldest - 1:
            return None
        return [line for seq, line in self._kept if seq > since]
