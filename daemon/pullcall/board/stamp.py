"""What came with a message beside its payload."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

#: A sequence number with more digits than this is none.
_LONGEST = 15


@dataclass(frozen=True, slots=True)
class Stamp:
    """Of which run of the site a message is, and where in it.

    ``epoch`` and ``seq`` are the site's own (docs/sites.md), empty and None where it gave none.
    ``left_s`` is how long the broker would still keep it, seconds; None where it did not say.
    """

    epoch: str = ""
    seq: int | None = None
    left_s: int | None = None

    def age_s(self, expires_s: float) -> float:
        """How long the broker has kept a message that expires, as far as it tells."""
        return 0.0 if self.left_s is None else max(0.0, expires_s - self.left_s)


def stamp_of(user: Iterable[tuple[str, str]], left_s: int | None = None) -> Stamp:
    """The stamp that a message's user properties are; the first of a name counts."""
    named = dict(reversed(tuple(user)))
    seq = named.get("seq", "")
    is_number = 0 < len(seq) <= _LONGEST and seq.isascii() and seq.isdigit()
    return Stamp(named.get("epoch", "")[: _LONGEST * 4], int(seq) if is_number else None, left_s)
