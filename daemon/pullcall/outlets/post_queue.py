"""Calls waiting to be posted."""

from __future__ import annotations

from dataclasses import dataclass

from pullcall.events import Call

#: Calls that may wait.
LONGEST = 32


@dataclass(frozen=True, slots=True)
class Post:
    """One call to post: ``body`` is what is sent, ``since`` real monotonic seconds."""

    call: Call
    body: bytes
    since: float


class PostQueue:
    """The most urgent first, among equals the oldest; full, the oldest of the least urgent goes."""

    def __init__(self) -> None:
        self._posts: list[Post] = []

    def __len__(self) -> int:
        return len(self._posts)

    def add(self, post: Post) -> Post | None:
        """Queue a post; returns the one dropped for it."""
        self._posts.append(post)
        if len(self._posts) <= LONGEST:
            return None
        dropped = max(self._posts, key=lambda p: (p.call.priority, -p.since))
        self._posts.remove(dropped)
        return dropped

    def take(self) -> Post | None:
        """The next post, or None."""
        if not self._posts:
            return None
        chosen = min(self._posts, key=lambda p: (p.call.priority, p.since))
        self._posts.remove(chosen)
        return chosen
