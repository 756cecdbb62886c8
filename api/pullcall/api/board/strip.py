"""Rows of a board without what would tell a rival the targets. What is not named is left out."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from pullcall.board.contact import Reach
from pullcall.board.order import Order
from pullcall.events import CallKind

Json = dict[str, Any]

_ROW = ("site", "name", "state", "heard_t", "stage", "simulated", "speed", "window")
_STEAK = ("steak", "phase", "celsius", "reading_t")
_NO_PULL = {"pull_c": None, "pull_t": None}
#: Alarms that tell what everybody sees: a pull call would tell the target.
_ALARMS = frozenset({CallKind.REST_DONE, Reach.SILENT, Reach.LOST, Reach.GONE})
_PRIORITY = 2


def stripped(rows: Iterable[Json], now: float) -> list[Json]:
    """The rows as a watcher without targets gets them; ``now`` is the board's seconds.

    They are ordered by what they still show: the order of all would tell when a pull is due.
    """
    return Order().sorted(map(_row, rows), now)


def _row(row: Json) -> Json:
    """No ``next`` as on a site: a planned turn goes when a pull is due, which would tell it."""
    return {
        **_only(row, _ROW),
        "alarm": _alarm(row["alarm"]),
        "next": None,
        "steaks": [{**_only(steak, _STEAK), **_NO_PULL} for steak in row["steaks"]],
    }


def _alarm(alarm: Json | None) -> Json | None:
    """All of one priority: that of a lost site tells that a pull is near."""
    if alarm is None or alarm["call"] not in _ALARMS:
        return None
    return {**alarm, "priority": _PRIORITY}


def _only(found: Json, names: tuple[str, ...]) -> Json:
    return {name: found[name] for name in names if name in found}
