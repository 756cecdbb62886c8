"""The order of a board's rows: what needs somebody first."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from pullcall.calls.alarm import CallState

Json = dict[str, Any]
_Key = tuple[int, int, float, str]

#: What is due later than this does not go before what is on now, seconds.
_SOON_S = 900.0
#: Less urgent than this are prompts, which nobody needs to run for.
_ALARMING = 2
#: A moment that moves by no more than this leaves its row where it is, seconds.
_SETTLED_S = 3.0
_ALARM, _DUE, _ON, _WAITING, _OVER, _GONE = range(6)
_STAGES = {"cooking": _ON, "resting": _ON, "waiting": _WAITING, "over": _OVER}


class Order:
    """Puts rows in order: unanswered alarms by priority, then age (prompts, of priority 3, lift no
    row); what is due, the next first; sites with something on; those that wait, are over, are gone.

    Rows do not jump for what only trembles: a row is placed by the moment that it was placed by
    before, until the moment it shows is farther from it than three seconds. Two rows whose moments
    are nearer than that may so stand the other way round, but stay as they stand. What is equal
    goes by the site's id.
    """

    def __init__(self) -> None:
        self._settled: dict[tuple[str, str], float] = {}

    def sorted(self, rows: Iterable[Json], now: float) -> list[Json]:
        """The rows in order at ``now``, the board's seconds."""
        rows = list(rows)
        before, self._settled = self._settled, {}
        keys = {row["site"]: self._key(row, before, now) for row in rows}
        return sorted(rows, key=lambda row: keys[row["site"]])

    def _key(self, row: Json, before: dict[tuple[str, str], float], now: float) -> _Key:
        site, alarm = row["site"], row["alarm"]
        if alarm is not None and _is_alarming(alarm):
            since_t = self._settle((site, "alarm"), alarm["since_t"] or 0.0, before)
            return _ALARM, alarm["priority"], since_t, site
        if row["state"] == "gone":
            return _GONE, 0, 0.0, site
        group = _STAGES[row["stage"]]
        due_t = due_of(row)
        if due_t is None:
            return group, 1, 0.0, site
        due_t = self._settle((site, "due"), due_t, before)
        if due_t - now <= _SOON_S and group != _OVER:
            group = _DUE
        return group, 0, due_t, site

    def _settle(
        self, of: tuple[str, str], at: float, before: dict[tuple[str, str], float]
    ) -> float:
        known = before.get(of, at)
        self._settled[of] = known if abs(known - at) <= _SETTLED_S else at
        return self._settled[of]


def _is_alarming(alarm: Json) -> bool:
    return bool(alarm["state"] == CallState.UNACKNOWLEDGED and alarm["priority"] <= _ALARMING)


def due_of(row: Json) -> float | None:
    """When something is due in a row, next; else when the middle of its next pull is, or when its
    window closes. None: nothing is."""
    coming: list[float | None] = [row["next"]["due_t"]] if row["next"] else []
    coming += [steak["pull_t"]["p50"] for steak in row["steaks"] if steak["pull_t"]]
    known = [t for t in coming if t is not None]
    if known:
        return min(known)
    return row["window"]["closes_t"] if row["window"] else None
