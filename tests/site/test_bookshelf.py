"""What is known of logged cooks: by this edition of the core, or by whichever will do."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from pullcall.events import CookHeader
from pullcall.hindsight import shelf as shelf_module
from pullcall.hindsight.facts import CookFacts
from pullcall.hindsight.shelf import Shelf
from pullcall.hindsight.study import study
from pullcall.log.cook_file import cook_lines, parse_cook_lines
from pullcall.log.store import Store
from pullcall.site.bookshelf import Bookshelf, Running
from tests.cooks import ONE, off, on

WALL = "2026-06-13T14:00:00+00:00"


def logged(path: Path, header: CookHeader) -> CookFacts:
    """A cook taken off and never handed in, as in a backyard, worked out."""
    file = parse_cook_lines(cook_lines(header, [on(1.0), off(400.0)]))
    facts = study(file)
    with Store(path) as store:
        store.bring_in(file, WALL)
        Shelf(path).keep_facts(header.cook, store.stand(header.cook), facts)
    return facts


def test_a_cook_that_was_never_handed_in_teaches_by_an_earlier_edition_too(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "cooks.db"
    facts = logged(path, ONE)
    monkeypatch.setattr(shelf_module, "edition", lambda: "another")
    shelf = Bookshelf(path, lambda: None)
    assert shelf.facts_of_all([ONE.cook]) == []
    assert shelf.facts_of_all([ONE.cook], any_edition=True) == [facts]
    assert shelf.facts(ONE.cook) is None, "what an earlier edition found is not remembered"


def test_cooks_that_are_over_are_told_apart_by_their_kind(tmp_path: Path) -> None:
    path = tmp_path / "cooks.db"
    logged(path, replace(ONE, cook="played", simulated=True))
    logged(path, replace(ONE, cook="real", simulated=False))
    with Store(path) as store:
        store.begin(replace(ONE, cook="runs", simulated=False), "boot", 0.0)
    waiting = Bookshelf(path, lambda: Running("runs", False, 0))
    assert waiting.over() == ["played", "real"]
    assert waiting.over(simulated=False) == ["real"]
    assert Bookshelf(path, lambda: Running("runs", True, 0)).over(simulated=False) == [
        "real",
        "runs",
    ]
