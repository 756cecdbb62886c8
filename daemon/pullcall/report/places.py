"""Which steak of another cook to hold a steak against, and the letters of cooks side by side."""

from __future__ import annotations

from pullcall.hindsight.facts import CookFacts, SteakFacts

MOST_COOKS = 6


def counterpart(cook: CookFacts, place: int, other: CookFacts) -> SteakFacts | None:
    """The steak of ``other`` to hold the one at ``place`` of ``cook`` against: of the same name,
    else at the same place of the order, unless that one has another counterpart by name."""
    if (same := other.steak(cook.steaks[place].steak)) is not None:
        return same
    if place >= len(other.steaks) or cook.steak(other.steaks[place].steak) is not None:
        return None
    return other.steaks[place]


def letter(n: int) -> str:
    """A, B, C: how the n-th cook of a comparison is called, from 0."""
    return "ABCDEF"[n]
