"""What the pages of a board are told, as little of it as will do."""

from __future__ import annotations

from typing import Any

from pullcall.board.quiet_hub import QuietHub
from pullcall.board.roster import Roster

Json = dict[str, Any]

#: Rows that nobody said anything about change too, with time: they are looked at this often, s.
_LOOK_S = 1.0


class Bulletin:
    """Publishes the rows that changed; sans-I/O, times are the board's own seconds."""

    def __init__(self, roster: Roster, *hubs: QuietHub) -> None:
        self._roster = roster
        self._hubs = hubs
        self._told: dict[str, Json] = {}
        self._order: list[str] = []
        self._look_t = 0.0

    def gather(self, now: float) -> None:
        """Tell what changed since the last time, if there is anybody to tell."""
        is_second = now >= self._look_t
        if is_second:
            self._look_t = now + _LOOK_S
            for hub in self._hubs:
                hub.whisper("tick", {"t": round(now, 3)})
        if not any(hub.is_watched for hub in self._hubs):
            return
        roster = self._roster
        rows = roster.rows(now) if is_second else roster.touched_rows(now)
        changed = [row for row in rows if not _are_alike(row, self._told.get(row["site"]))]
        order = [row["site"] for row in rows]
        if changed or order != self._order:
            body = {"t": round(now, 3), "rows": changed, "order": order}
            for hub in self._hubs:
                hub.publish("rows", body)
        self._told = {**{row["site"]: row for row in changed}, **self._still(order, changed)}
        self._order = order

    def _still(self, order: list[str], changed: list[Json]) -> dict[str, Json]:
        """What was told before of the others."""
        anew = {row["site"] for row in changed}
        return {site: self._told[site] for site in order if site not in anew}


def _are_alike(row: Json, told: Json | None) -> bool:
    """Whether a page sees no difference; when a site was heard matters only once it is not."""
    if told is None:
        return False
    return row == told or (row["state"] == "here" and row == {**told, "heard_t": row["heard_t"]})
