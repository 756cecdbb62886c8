"""What a watch found in the readings."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Found:
    """Something seems to have happened at ``happened``; ``sure`` enough for time to confirm."""

    happened: float
    why: str
    sure: bool = False
