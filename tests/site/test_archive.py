"""What the logbook of a running site answers."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import TypeVar

import pytest

from pullcall.core.cook import Cook
from pullcall.errors import LogError, RefusedError, UnknownNameError
from pullcall.events import CookHeader, SteakSettings
from pullcall.learning.choice import Choice, Mode
from pullcall.log.cook_file import BrokenLine
from pullcall.log.store import Store
from pullcall.site.archive import Archive, named

T = TypeVar("T")
RUNNING = CookHeader("d", "2026-06-13T11:30:00+00:00", (SteakSettings("left"),))
NOON = datetime(2026, 6, 13, 12, 0, tzinfo=UTC)


class PlainPen:
    """Does what it is given at once."""

    async def run(self, work: Callable[[], T]) -> T:
        return work()


def archive_of(store: Store) -> Archive:
    """The logbook with one cook in it that is over; another one runs."""
    store.begin(CookHeader("c", "2026-06-13T11:00:00+00:00"), "boot", 0.0)
    return Archive(store, PlainPen(), lambda: NOON, lambda: Cook(RUNNING))


async def test_what_people_note_of_a_cook_is_kept_with_its_time_all_or_none(
    tmp_path: Path,
) -> None:
    with Store(tmp_path / "cooks.db") as store:
        archive = archive_of(store)
        await archive.note("c", [(None, "place", "Riverside")])
        with pytest.raises(RefusedError):
            await archive.note("c", [(None, "place", "Alder Ford"), (None, "no such note", "x")])
        with pytest.raises(UnknownNameError):
            await archive.note("none", [(None, "place", "Alder Ford")])
        kept = archive.shelf.notes("c")
    assert [(one.wall, one.name, one.value) for one in kept] == [
        (NOON.isoformat(), "place", "Riverside")
    ]


async def test_what_is_chosen_for_a_lesson_is_kept_with_its_time(tmp_path: Path) -> None:
    with Store(tmp_path / "cooks.db") as store:
        archive = archive_of(store)
        await archive.choose("reaction", Mode.OWN, 4.0)
        kept = archive.shelf.choices()
    assert list(kept) == [Choice(NOON.isoformat(), "reaction", Mode.OWN, 4.0)]


async def test_only_a_cook_that_is_there_and_over_is_worked_out_and_waited_for_in_vain(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("pullcall.site.archive._PATIENCE_S", 0.01)
    with Store(tmp_path / "cooks.db") as store:
        archive = archive_of(store)
        store.begin(RUNNING, "boot", 0.0)
        for ask in (archive.recording, archive.facts):
            with pytest.raises(UnknownNameError):
                await ask("none")
            with pytest.raises(RefusedError, match="not over"):
                await ask(RUNNING.cook)
            with pytest.raises(LogError, match="ask again in a minute"):
                await ask("c")


def test_each_line_that_was_left_out_is_named_with_its_number() -> None:
    assert named([BrokenLine(7, "not JSON")]) == ("line 7: not JSON",)
    assert named([]) == ()


def test_of_a_file_of_nothing_but_broken_lines_the_first_are_named() -> None:
    words = named([BrokenLine(n, "not JSON") for n in range(1_000)])
    assert (len(words), words[-1]) == (201, "and 800 more lines")
