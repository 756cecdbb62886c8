"""How the way to the broker is, as the daemon is told by the process that goes it."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass, fields
from enum import StrEnum


class BusState(StrEnum):
    """How it stands with the broker."""

    CONNECTING = "connecting"
    OK = "ok"
    FAILING = "failing"


@dataclass(frozen=True, slots=True)
class BusStatus:
    """``note`` is one sentence on what to do where it is failing, or the log cannot be read.

    ``records_waiting`` is how many the broker did not confirm yet; the others count since the
    daemon was started: calls that were dropped as they would mislead, connections that were made
    again, messages that were sent, starts of the process, calls that were sent and not confirmed
    in time, and records that are too large to be sent.
    """

    state: BusState = BusState.CONNECTING
    note: str = ""
    records_waiting: int = 0
    calls_dropped: int = 0
    reconnects: int = 0
    published: int = 0
    restarts: int = 0
    calls_unconfirmed: int = 0
    records_too_large: int = 0


#: No count comes so far (SQLite's and every reader's integers end there).
_BEYOND = 2**63
_COUNTS = [field.name for field in fields(BusStatus) if field.name not in ("state", "note")]


def status_line(status: BusStatus) -> str:
    """One line of JSON."""
    return json.dumps(asdict(status))


def parse_status(line: bytes) -> BusStatus:
    """The status of such a line. Raises ValueError for any other."""
    try:
        told = json.loads(line)
    except RecursionError as exc:
        raise ValueError("it is nested too deep") from exc
    if not isinstance(told, dict) or set(told) != {field.name for field in fields(BusStatus)}:
        raise ValueError("it is no status")
    if not isinstance(told["note"], str) or any(not _is_count(told[name]) for name in _COUNTS):
        raise ValueError("a part of it is no number")
    return BusStatus(**(told | {"state": BusState(told["state"])}))


def _is_count(value: object) -> bool:
    return type(value) is int and 0 <= value < _BEYOND
