"""The lines of a cook that came after one that is known."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from pullcall.log.entries import Entry
from pullcall.log.store import Store
from tests.cooks import HEADER, ONE, on, rising


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    """Two cooks whose records lie between each other's."""
    with Store(tmp_path / "cooks.db") as store:
        for header in (HEADER, ONE):
            store.begin(header, "boot", 0.0)
        readings = list(rising("left", 1.0, 4.0, 5.0, 0.1))
        for reading in readings:
            store.write([Entry(HEADER.cook, reading), Entry(ONE.cook, reading)])
        store.write([Entry(HEADER.cook, on(9.0))])
        yield store


def test_all_of_a_cook_in_any_steps_is_its_file(store: Store) -> None:
    for most in (1, 3, 100):
        lines: list[str] = []
        number = -1
        while found := store.records_after(HEADER.cook, number, most):
            assert len(found) <= most
            assert store.count_after(HEADER.cook, number) == 9 - len(lines)
            numbers = [n for n, _ in found]
            assert numbers == sorted(set(numbers))
            number = numbers[-1]
            lines += [line for _, line in found]
        assert lines == store.lines(HEADER.cook)
        assert store.count_after(HEADER.cook, number) == 0


def test_a_header_is_zero(store: Store) -> None:
    ((number, line),) = store.records_after(ONE.cook, -1, 1)
    assert (number, line) == (0, store.lines(ONE.cook)[0])


def test_of_a_cook_that_is_not_there_nothing_comes(store: Store) -> None:
    store.end(ONE.cook, "2026-06-13T14:00:00Z")
    store.delete(ONE.cook)
    assert store.records_after(ONE.cook, -1, 5) == []
    assert store.count_after(ONE.cook, -1) == 0


def test_a_second_reader_sees_what_is_written_meanwhile(store: Store) -> None:
    with Store(store.path, reads_only=True) as reader:
        last = reader.records_after(HEADER.cook, -1, 100)[-1][0]
        store.write([Entry(HEADER.cook, on(10.0, "left"))])
        ((_, line),) = reader.records_after(HEADER.cook, last, 100)
        assert '"on-left-10"' in line
