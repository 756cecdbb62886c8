"""The states of a fire."""

from __future__ import annotations

from enum import StrEnum


class FireState(StrEnum):
    """How the fire is."""

    HEATING = "heating"
    READY = "ready"
    LOW = "low"
    HIGH = "high"
    STALE = "stale"
