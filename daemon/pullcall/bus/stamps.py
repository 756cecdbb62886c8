"""What a message says of itself, so that one that comes late or twice can be told."""

from __future__ import annotations

import secrets

User = tuple[tuple[str, str], ...]


class Stamps:
    """Stamps messages one after the other, counting up from one; ``epoch`` names the count."""

    def __init__(self, epoch: str | None = None) -> None:
        self.epoch = epoch or secrets.token_hex(6)
        self._seq = 0

    def next(self) -> User:
        """The user properties of the next message."""
        self._seq += 1
        return stamp(self.epoch, self._seq)


def stamp(epoch: str, seq: int) -> User:
    """The user properties of a message of this number."""
    return (("epoch", epoch), ("seq", str(seq)))
