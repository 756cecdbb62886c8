"""The phases of a steak, and the stage of a cook that follows from them."""

from __future__ import annotations

from collections.abc import Set
from enum import StrEnum


class Phase(StrEnum):
    """What is happening to a steak."""

    WAITING = "waiting"
    ON = "on"
    RESTING = "resting"
    BOXED = "boxed"
    HANDED_IN = "handed_in"


class Stage(StrEnum):
    """What is happening to a whole cook."""

    WAITING = "waiting"
    COOKING = "cooking"
    RESTING = "resting"
    OVER = "over"


def stage_of(phases: Set[Phase]) -> Stage:
    """Waiting before anything is on, resting once all are off, over once all are handed in."""
    if phases <= {Phase.WAITING}:
        return Stage.WAITING
    if phases <= {Phase.HANDED_IN}:
        return Stage.OVER
    return Stage.COOKING if phases & {Phase.ON, Phase.WAITING} else Stage.RESTING
