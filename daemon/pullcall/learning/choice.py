"""What the cook chose for one lesson."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Mode(StrEnum):
    """Which figure of a lesson is in force from the next cook on."""

    DEFAULT = "default"
    LEARNED = "learned"
    OWN = "own"


@dataclass(frozen=True, slots=True)
class Choice:
    """Made at the wall time ``wall`` (ISO 8601); ``value`` is the cook's own figure, in the
    lesson's unit, with ``Mode.OWN`` only. The latest of a name stands."""

    wall: str
    name: str
    mode: Mode
    value: float | None = None
