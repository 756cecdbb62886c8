"""What was worked out is kept beside the log, and made again when it no longer holds."""

from __future__ import annotations

from pathlib import Path

import pytest

from pullcall.errors import LogError
from pullcall.events import CookHeader, Input, Lessons, Normal, Note, Quantiles, SteakSettings
from pullcall.hindsight import edition as edition_module
from pullcall.hindsight import shelf as shelf_module
from pullcall.hindsight.facts import CookFacts, FireFacts, LeadScore, SteakFacts
from pullcall.hindsight.kept import facts_json, facts_of
from pullcall.hindsight.shelf import Kind, Shelf
from pullcall.hindsight.study import study
from pullcall.log.cook_file import cook_lines, parse_cook_lines
from pullcall.log.note_records import note_record
from pullcall.log.records import to_line
from tests.cooks import HEADER, ONE, off, on, rising, two_steak_cook

LINES = list(cook_lines(HEADER, two_steak_cook(10.0)))
NOTE = to_line(note_record(Note("2026-06-13T15:00:00+00:00", None, "place", "behind the barn")))


@pytest.fixture
def shelf(tmp_path: Path) -> Shelf:
    return Shelf(tmp_path / "cooks.db")


def test_what_is_kept_is_found_again_by_kind(shelf: Shelf) -> None:
    shelf.keep("one", LINES, Kind.FACTS, b"facts\nof one")
    shelf.keep("one", LINES, "recording", b"a recording")
    assert shelf.find("one", LINES, "facts") == b"facts\nof one"
    assert shelf.find("one", LINES, Kind.RECORDING) == b"a recording"
    assert shelf.find("other", LINES, Kind.FACTS) is None


def test_it_lies_beside_the_log_and_only_there(shelf: Shelf, tmp_path: Path) -> None:
    shelf.keep("a/b ../c", LINES, Kind.FACTS, b"facts")
    assert [path.name for path in tmp_path.iterdir()] == ["cooks.db.derived"]
    assert len(list(shelf.folder.iterdir())) == 1


def test_a_cook_that_changed_is_made_anew_and_what_was_kept_of_it_goes(shelf: Shelf) -> None:
    shelf.keep("one", LINES, Kind.FACTS, b"before")
    assert shelf.find("one", LINES[:-1], Kind.FACTS) is None
    shelf.keep("one", LINES[:-1], Kind.FACTS, b"after")
    assert shelf.find("one", LINES, Kind.FACTS) is None
    assert len(list(shelf.folder.iterdir())) == 1


def test_a_note_changes_nothing_that_is_kept(shelf: Shelf) -> None:
    shelf.keep("one", LINES, Kind.FACTS, b"facts")
    assert shelf.find("one", [*LINES, NOTE], Kind.FACTS) == b"facts"


def test_another_edition_of_the_code_makes_everything_anew(
    shelf: Shelf, monkeypatch: pytest.MonkeyPatch
) -> None:
    shelf.keep("one", LINES, Kind.FACTS, b"facts")
    monkeypatch.setattr(shelf_module, "edition", lambda: "another")
    assert shelf.find("one", LINES, Kind.FACTS) is None


def test_the_edition_covers_every_file_of_the_core() -> None:
    """A part that was renamed would silently be left out."""
    here = Path(edition_module.__file__).parent.parent
    assert all((here / part).exists() for part in edition_module.PARTS)
    assert len(edition_module.edition()) == 64


def test_what_was_made_before_more_readings_came_will_do_for_a_while(shelf: Shelf) -> None:
    shelf.keep("one", LINES, Kind.FACTS, b"facts")
    reading = '{"record":"reading","t":900.0,"steak":"left","celsius":40.0}'
    more = [*LINES, reading, reading]
    assert shelf.find("one", more, Kind.FACTS) is None
    assert shelf.find("one", more, Kind.FACTS, since=5) == b"facts"
    assert shelf.find("one", more, Kind.FACTS, since=1) is None
    marked = [*more, '{"record":"mark","t":901.0,"steak":"left","mark":"boxed"}', reading]
    assert shelf.find("one", marked, Kind.FACTS, since=5) is None
    other = [LINES[0], reading, *LINES[1:], reading]
    assert shelf.find("one", other, Kind.FACTS, since=5) is None
    assert shelf.find("one", LINES[:-1], Kind.FACTS, since=5) is None


@pytest.mark.parametrize("spoilt", [b"", b"hello", None])
def test_a_damaged_or_foreign_file_counts_as_missing(shelf: Shelf, spoilt: bytes | None) -> None:
    shelf.keep("one", LINES, Kind.FACTS, b"facts that are long enough to be cut")
    (path,) = shelf.folder.iterdir()
    path.write_bytes(path.read_bytes()[:-5] if spoilt is None else spoilt)
    assert shelf.find("one", LINES, Kind.FACTS) is None
    shelf.keep("one", LINES, Kind.FACTS, b"again")
    assert shelf.find("one", LINES, Kind.FACTS) == b"again"


def test_nothing_of_a_deleted_cook_stays(shelf: Shelf) -> None:
    for cook in ("one", "two"):
        for kind in Kind:
            shelf.keep(cook, LINES, kind, b"something")
    shelf.forget("one")
    shelf.forget("never kept")
    assert shelf.find("two", LINES, Kind.FACTS) == b"something"
    assert len(list(shelf.folder.iterdir())) == 2


def test_forgetting_before_anything_was_kept_is_fine(shelf: Shelf) -> None:
    shelf.forget("one")
    assert not shelf.folder.exists()


def test_a_shelf_that_cannot_be_written_says_what_to_do(tmp_path: Path) -> None:
    (tmp_path / "cooks.db.derived").write_text("in the way")
    with pytest.raises(LogError, match=r"check the disk and its permissions\.$"):
        Shelf(tmp_path / "cooks.db").keep("one", LINES, Kind.FACTS, b"facts")


def test_facts_come_back_as_they_were_kept(shelf: Shelf) -> None:
    pulled: list[Input] = [on(0.1), *rising("left", 0.2, 60.0, 45.0, 1.0 / 5.0), off(58.0)]
    facts = study(parse_cook_lines(cook_lines(ONE, pulled)))
    assert facts.steaks[0].believed
    assert facts.steaks[0].leads
    shelf.keep_facts("demo", LINES, facts)
    assert shelf.find_facts("demo", LINES) == facts


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
