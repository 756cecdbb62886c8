"""What was worked out is kept beside the log, and made again when it no longer holds."""

from __future__ import annotations

from pathlib import Path

import pytest

from pullcall.errors import LogError
from pullcall.events import CookHeader, Input, Lessons, Normal, Quantiles, SteakSettings
from pullcall.hindsight import edition as edition_module
from pullcall.hindsight import shelf as shelf_module
from pullcall.hindsight.facts import CookFacts, FireFacts, LeadScore, SteakFacts
from pullcall.hindsight.kept import facts_json, facts_of
from pullcall.hindsight.shelf import Kind, Shelf
from pullcall.hindsight.study import study
from pullcall.log.cook_file import cook_lines, parse_cook_lines
from pullcall.log.stand import Stand
from tests.cooks import ONE, off, on, rising

STAND = Stand("a header", 20)
FEWER = Stand("a header", 19)


@pytest.fixture
def shelf(tmp_path: Path) -> Shelf:
    return Shelf(tmp_path / "cooks.db")


def test_what_is_kept_is_found_again_by_kind(shelf: Shelf) -> None:
    shelf.keep("one", STAND, Kind.FACTS, b"facts\nof one")
    shelf.keep("one", STAND, "recording", b"a recording")
    assert shelf.find("one", STAND, "facts") == b"facts\nof one"
    assert shelf.find("one", STAND, Kind.RECORDING) == b"a recording"
    assert shelf.find("other", STAND, Kind.FACTS) is None


def test_it_lies_beside_the_log_and_only_there(shelf: Shelf, tmp_path: Path) -> None:
    shelf.keep("a/b ../c", STAND, Kind.FACTS, b"facts")
    assert [path.name for path in tmp_path.iterdir()] == ["cooks.db.derived"]
    assert len(list(shelf.folder.iterdir())) == 1


def test_a_cook_that_changed_is_made_anew_and_what_was_kept_of_it_goes(shelf: Shelf) -> None:
    shelf.keep("one", STAND, Kind.FACTS, b"before")
    assert shelf.find("one", FEWER, Kind.FACTS) is None
    shelf.keep("one", FEWER, Kind.FACTS, b"after")
    assert shelf.find("one", STAND, Kind.FACTS) is None
    assert len(list(shelf.folder.iterdir())) == 1


def test_another_edition_of_the_code_makes_everything_anew(
    shelf: Shelf, monkeypatch: pytest.MonkeyPatch
) -> None:
    shelf.keep("one", STAND, Kind.FACTS, b"facts")
    monkeypatch.setattr(shelf_module, "edition", lambda: "another")
    assert shelf.find("one", STAND, Kind.FACTS) is None


def test_what_another_edition_made_will_do_where_that_is_said(
    shelf: Shelf, monkeypatch: pytest.MonkeyPatch
) -> None:
    shelf.keep("one", STAND, Kind.FACTS, b"facts")
    monkeypatch.setattr(shelf_module, "edition", lambda: "another")
    assert shelf.find("one", STAND, Kind.FACTS, any_edition=True) == b"facts"
    assert shelf.find("one", FEWER, Kind.FACTS, any_edition=True) is None


def test_a_shelf_that_cannot_be_used_says_so_beforehand(tmp_path: Path) -> None:
    Shelf(tmp_path / "cooks.db").check()
    (tmp_path / "other.db.derived").write_text("in the way")
    with pytest.raises(LogError, match="check the disk"):
        Shelf(tmp_path / "other.db").check()


def test_the_edition_covers_every_file_of_the_core() -> None:
    """A part that was renamed would silently be left out."""
    here = Path(edition_module.__file__).parent.parent
    assert all((here / part).exists() for part in edition_module.PARTS)
    assert len(edition_module.edition()) == 64


def test_what_was_made_before_more_readings_came_will_do_for_a_while(shelf: Shelf) -> None:
    shelf.keep("one", STAND, Kind.FACTS, b"facts")
    more = Stand("a header", 22, since=2)
    assert shelf.find("one", more, Kind.FACTS) is None
    assert shelf.find("one", more, Kind.FACTS, since=1) is None
    assert shelf.find("one", more, Kind.FACTS, since=5) == b"facts"
    marked = Stand("a header", 23, since=1)
    other = Stand("another header", 22, since=2)
    for stand in (marked, other, FEWER):
        assert shelf.find("one", stand, Kind.FACTS, since=5) is None


@pytest.mark.parametrize("spoilt", [b"", b"hello", None])
def test_a_damaged_or_foreign_file_counts_as_missing(shelf: Shelf, spoilt: bytes | None) -> None:
    shelf.keep("one", STAND, Kind.FACTS, b"facts that are long enough to be cut")
    (path,) = shelf.folder.iterdir()
    path.write_bytes(path.read_bytes()[:-5] if spoilt is None else spoilt)
    assert shelf.find("one", STAND, Kind.FACTS) is None
    shelf.keep("one", STAND, Kind.FACTS, b"again")
    assert shelf.find("one", STAND, Kind.FACTS) == b"again"


def test_nothing_of_a_deleted_cook_stays(shelf: Shelf) -> None:
    for cook in ("one", "two"):
        for kind in Kind:
            shelf.keep(cook, STAND, kind, b"something")
    shelf.forget("one")
    shelf.forget("never kept")
    assert shelf.find("two", STAND, Kind.FACTS) == b"something"
    assert len(list(shelf.folder.iterdir())) == 2


def test_forgetting_before_anything_was_kept_is_fine(shelf: Shelf) -> None:
    shelf.forget("one")
    assert not shelf.folder.exists()


def test_a_shelf_that_cannot_be_written_says_what_to_do(tmp_path: Path) -> None:
    (tmp_path / "cooks.db.derived").write_text("in the way")
    with pytest.raises(LogError, match=r"check the disk and its permissions\.$"):
        Shelf(tmp_path / "cooks.db").keep("one", STAND, Kind.FACTS, b"facts")


def test_facts_come_back_as_they_were_kept(shelf: Shelf) -> None:
    pulled: list[Input] = [on(0.1), *rising("left", 0.2, 60.0, 45.0, 1.0 / 5.0), off(58.0)]
    facts = study(parse_cook_lines(cook_lines(ONE, pulled)))
    assert facts.steaks[0].believed
    assert facts.steaks[0].leads
    shelf.keep_facts("demo", STAND, facts)
    assert shelf.find_facts("demo", STAND) == facts


def test_lessons_and_unknown_keys_of_a_header_come_back_too() -> None:
    lessons = Lessons(prior={"hot_level": Normal(125.5, 7.2)}, climb_c=-0.2)
    header = CookHeader("one", "", (SteakSettings("left"),), lessons=lessons, extra={"x": [1, "y"]})
    lead = LeadScore(40.0, 1.0, Quantiles(1.0, 2.0, 3.0), 2.0, 0.5, 2.0)
    steak = SteakFacts("left", header.steaks[0], leads=(lead,), notes=("note",))
    facts = CookFacts("one", header, 9.5, (steak,), FireFacts(), window_t=(1.0, 2.0))
    assert facts_of(facts_json(facts)) == facts


def test_facts_that_another_version_wrote_are_none() -> None:
    assert facts_of(b'{"cook": 3}') is None
    assert facts_of(b"no json") is None
