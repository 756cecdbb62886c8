"""Words found in the logbook."""

from __future__ import annotations

from datetime import datetime

from pullcall.logbook.entry import Row


def found(row: Row, words: str) -> bool:
    """Whether every word is found somewhere in the row, upper and lower case alike.

    Looked through are the id, the date (so ``2026-06`` finds a month), place, contest, tags,
    notes, the steaks' names, what they rested on and the categories of scores.
    """
    text = "\n".join(_texts(row)).casefold()
    return all(word in text for word in words.casefold().split())


def _texts(row: Row) -> list[str]:
    steaks = [text for steak in row.steaks for text in (steak.steak, steak.notes)]
    told = [row.place, row.contest, row.notes, row.rest_on, row.rest_board]
    return [row.cook, row.started, _local_day(row.started), *told, *row.tags, *row.scores, *steaks]


def _local_day(started: str) -> str:
    """The day where the reader is, which is not always the day of the log's zone."""
    try:
        return f"{datetime.fromisoformat(started).astimezone():%Y-%m-%d}"
    except (ValueError, OverflowError):
        return ""
