"""Numbered messages to any number of pages, with resume; a slow page is let go."""

from __future__ import annotations

import asyncio
import secrets
from abc import ABC, abstractmethod
from collections import deque
from collections.abc import Mapping
from typing import Any

from pullcall.log.records import to_line

#: Messages kept for a page that comes back: about two minutes of two probes and forecasts.
_KEPT = 1500
#: Messages a page may fall behind before it is let go (it resumes when it reconnects).
_QUEUE = 256


class Listener:
    """One connected page's queue of ready-made JSON lines; None ends it."""

    def __init__(self) -> None:
        self.queue: asyncio.Queue[str | None] = asyncio.Queue(maxsize=_QUEUE)
        self.is_gone = False

    def put(self, line: str) -> None:
        """Queue a line; a full queue lets this page go."""
        if self.is_gone:
            return
        if self.queue.full():
            self.let_go()
        else:
            self.queue.put_nowait(line)

    def let_go(self) -> None:
        """End this page's stream at once: what it has not taken is dropped."""
        self.is_gone = True
        while not self.queue.empty():
            self.queue.get_nowait()
        self.queue.put_nowait(None)


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

    @property
    def count(self) -> int:
        """How many pages listen."""
        return len(self._listeners)

    def join(self) -> Listener:
        """A new listener, from now on."""
        listener = Listener()
        self._listeners.add(listener)
        return listener

    def leave(self, listener: Listener) -> None:
        """Forget a listener."""
        self._listeners.discard(listener)

    def tell(self, line: str) -> None:
        """Hand a line to everyone who is here."""
        for listener in self._listeners:
            listener.put(line)

    def close(self) -> None:
        """Let everyone go."""
        for listener in tuple(self._listeners):
            listener.let_go()


class Hub(Audience, Stream):
    """Hands each message once to every listener and keeps the last ones for those who return."""

    def __init__(self, kept: int = _KEPT) -> None:
        """``kept``: how many messages are kept for a page that comes back."""
        super().__init__()
        self.epoch = secrets.token_hex(6)
        self.seq = 0
        self._kept: deque[tuple[int, str]] = deque(maxlen=kept)

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
