"""How lines are told apart without colour: each has its own dashes; colour comes on top."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Pen:
    """``name`` is its class in the sheet's style; ``colour`` holds where there is no style."""

    name: str
    colour: str
    dashes: str | None


_INDIGO, _PLUM, _INK = "#1c2f96", "#7c0f52", "#14121a"
PENS = (
    Pen("first", _INDIGO, None),
    Pen("second", _PLUM, "7 3"),
    Pen("third", _INK, "2 2.5"),
    Pen("first", _INDIGO, "9 3 2 3"),
    Pen("second", _PLUM, "3 5"),
    Pen("third", _INK, "12 3 2 2 2 3"),
)


def pen(place: int) -> Pen:
    """The pen of the n-th line, from 0."""
    return PENS[place % len(PENS)]
