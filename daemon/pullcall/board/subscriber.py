"""The way to the broker, kept up."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class BrokerState(StrEnum):
    """How the way to the broker is."""

    CONNECTING = "connecting"
    OK = "ok"
    LOST = "lost"


@dataclass(frozen=True, slots=True)
class BrokerStatus:
    """The state, with one sentence for people where it is not ok."""

    state: BrokerState
    note: str = ""
