"""The phases of a steak."""

from __future__ import annotations

from enum import StrEnum


class Phase(StrEnum):
    """What is happening to a steak."""

    WAITING = "waiting"
    ON = "on"
    RESTING = "resting"
    BOXED = "boxed"
    HANDED_IN = "handed_in"
