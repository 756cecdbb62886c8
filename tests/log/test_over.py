"""Which logged cook is over, and which is the last."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from pullcall.events import Input, Mark, MarkKind, Undo
from pullcall.log.cook_file import cook_lines, parse_cook_lines
from pullcall.log.entries import Entry
from pullcall.log.over import is_over, last_over
from pullcall.log.store import Store
from tests.cooks import HEADER, off, on

END = "2026-06-13T16:00:00+00:00"
LEFT_OFF = Mark(60.0, "left", MarkKind.OFF, "o1")
RIGHT_IN = Mark(90.0, "right", MarkKind.HANDED_IN, "o2")


def begun(store: Store, cook: str, *inputs: Input, hour: int = 13) -> None:
    started = f"2026-06-13T{hour}:40:00+00:00"
    store.begin(replace(HEADER, cook=cook, started=started), "boot", 0.0)
    store.write([Entry(cook, event) for event in inputs])


@pytest.mark.parametrize(
    "inputs, over",
    [
        ([], False),
        ([on()], False),
        ([on(), LEFT_OFF], False),
        ([on(), LEFT_OFF, RIGHT_IN], True),
        ([on(0.0, "left"), LEFT_OFF], True),
        ([on(), LEFT_OFF, RIGHT_IN, Undo(95.0, "o2")], False),
        ([on(), off(60.0)], True),
        ([on(), off(60.0), Mark(80.0, "left", MarkKind.ON, "again")], False),
    ],
)
def test_a_cook_is_over_once_nothing_of_it_is_on_any_more(
    tmp_path: Path, inputs: list[Input], over: bool
) -> None:
    with Store(tmp_path / "cooks.db") as store:
        begun(store, "c", *inputs)
        assert is_over(store, store.entry("c")) is over
        store.end("c", END)
        assert is_over(store, store.entry("c"))


def test_the_last_is_the_one_handed_in_though_nobody_ended_it(tmp_path: Path) -> None:
    with Store(tmp_path / "cooks.db") as store:
        assert last_over(store) is None
        begun(store, "before", on(), off(60.0), hour=11)
        store.end("before", END)
        begun(store, "handed-in", on(), LEFT_OFF, RIGHT_IN, hour=12)
        begun(store, "untouched", hour=13)
        store.end("untouched", END)
        begun(store, "begun", hour=14)
        begun(store, "under-way", on(), hour=15)
        last = last_over(store)
        assert last is not None and last.id == "handed-in"


def test_a_table_that_was_brought_in_can_be_the_last_though_it_has_no_mark(tmp_path: Path) -> None:
    with Store(tmp_path / "cooks.db") as store:
        store.bring_in(parse_cook_lines(cook_lines(HEADER, [])), END)
        last = last_over(store)
        assert last is not None and last.id == HEADER.cook
