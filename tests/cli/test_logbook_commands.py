"""The logbook from the command line: list, tables, notes, deleting."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest

from pullcall.cli.main import main
from pullcall.clock import RealClock
from pullcall.errors import LogError
from pullcall.events import CookHeader, End, SteakSettings
from pullcall.log.cook_file import cook_lines
from pullcall.log.store import Store
from tests.cooks import HEADER, in_time_order, off, on, rising

OTHER = CookHeader("other-cook", "2026-07-04T12:00:00+00:00", steaks=(SteakSettings("only"),))
Out = pytest.CaptureFixture[str]


@pytest.fixture
def log(tmp_path: Path) -> str:
    """Two cooks that are over: one with two steaks, and one in which nothing happened."""
    path = tmp_path / "state" / "cooks.db"
    steaks = in_time_order(
        [on(0.1), off(305.0, "left"), off(305.1, "right"), End(310.0)],
        rising("left", 0.2, 305.0, 5.0, 48.9 / 300.0),
        rising("right", 0.3, 305.0, 5.0, 48.9 / 320.0),
    )
    for header, inputs in ((HEADER, steaks), (OTHER, [End(5.0)])):
        file = tmp_path / f"{header.cook}.jsonl"
        file.write_text("\n".join(cook_lines(header, inputs)))
        assert main(["import", str(file), "--log", str(path)]) == 0
    return str(path)


def _out(capsys: Out, *arguments: str) -> str:
    capsys.readouterr()
    assert main(list(arguments)) == 0
    return capsys.readouterr().out


def test_the_list_shows_what_was_written_and_finds_words(log: str, capsys: Out) -> None:
    notes = ["place=Riverside", "tags=windy, new coal", "score.taste=8.5"]
    written = _out(capsys, "note", HEADER.cook, *notes, "--log", log)
    assert written.splitlines() == ["place=Riverside", "tags=windy, new coal", "score.taste=8.5"]
    lines = _out(capsys, "logbook", "--log", log).splitlines()
    assert [line.split()[0] for line in lines] == [HEADER.cook, OTHER.cook]
    assert "Riverside" in lines[0]
    assert "left: pull 129.0 F" in lines[0]
    (found,) = _out(capsys, "logbook", "WINDY", "2026-06", "--log", log).splitlines()
    assert found.split() == lines[0].split()
    assert _out(capsys, "logbook", "snow", "--log", log) == ""


def test_options_may_stand_between_what_is_written(log: str, capsys: Out) -> None:
    written = _out(capsys, "note", "--log", log, "last", "--steak", "only", "weight_g=410")
    assert written == "only: weight_g=410\n"
    assert _out(capsys, "note", "last", "--log", log, "place=Riverside").endswith("Riverside\n")
    assert OTHER.cook in _out(capsys, "logbook", "river", "--log", log, "side")
    assert _out(capsys, "note", "last", "--log", log, "--", "notes=-4 F") == (
        "only: weight_g=410\nplace=Riverside\nnotes=-4 F\n"
    )


def test_a_note_is_taken_out_by_an_empty_value(log: str, capsys: Out) -> None:
    _out(capsys, "note", HEADER.cook, "place=Riverside", "--log", log)
    _out(capsys, "note", HEADER.cook, "weight_g=480", "--steak", "left", "--log", log)
    assert _out(capsys, "note", HEADER.cook, "place=", "--log", log) == "left: weight_g=480\n"
    assert _out(capsys, "note", HEADER.cook, "--log", log) == "left: weight_g=480\n"
    exported = _out(capsys, "export", HEADER.cook, "--log", log)
    assert exported.count('"record":"note"') == 3


def test_one_note_that_cannot_be_written_leaves_all_of_them_out(log: str, capsys: Out) -> None:
    assert main(["note", "last", "place=Hill", "pit=three", "--log", log]) == 1
    assert "it is place" in capsys.readouterr().err
    assert _out(capsys, "note", "last", "--log", log) == ""


def test_tables_hold_every_steak_with_what_was_worked_out(
    log: str, tmp_path: Path, capsys: Out
) -> None:
    jsonl, schema = tmp_path / "out.jsonl", tmp_path / "schema.json"
    arguments = ["--csv", "-", "--jsonl", str(jsonl), "--schema", str(schema), "--log", log]
    text = _out(capsys, "logbook", *arguments)
    lines = list(csv.DictReader(io.StringIO(text)))
    assert [(x["cook"], x["steak"]) for x in lines] == [
        (HEADER.cook, "left"),
        (HEADER.cook, "right"),
        (OTHER.cook, "only"),
    ]
    assert float(lines[0]["to_pull_s"]) == pytest.approx(300.0, abs=1.0)
    assert float(lines[0]["on_grate_s"]) == pytest.approx(304.9, abs=0.01)
    assert lines[2]["on_grate_s"] == ""
    names = [json.loads(line)["steak"] for line in jsonl.read_text().splitlines()]
    assert names == ["left", "right", "only"]
    assert json.loads(schema.read_text())["primaryKey"] == ["cook", "steak"]


def test_deleting_asks_first_and_then_leaves_nothing(log: str, capsys: Out) -> None:
    _out(capsys, "note", OTHER.cook, "notes=marker of mine", "--log", log)
    assert main(["delete", OTHER.cook, "--log", log]) == 1
    assert "would go, with 2 records: add --yes" in capsys.readouterr().out
    assert "marker of mine" in _out(capsys, "export", OTHER.cook, "--log", log)
    assert "Deleted other-cook" in _out(capsys, "delete", "last", "--yes", "--log", log)
    assert [line.split()[0] for line in _out(capsys, "logbook", "--log", log).splitlines()] == [
        HEADER.cook
    ]
    for file in Path(log).parent.rglob("*"):
        assert not file.is_file() or b"marker of mine" not in file.read_bytes()


def test_a_deletion_that_left_traces_is_done_again(
    log: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(store: Store) -> None:
        raise LogError("No room: make room.")

    monkeypatch.setattr(Store, "wipe", full)
    assert main(["delete", OTHER.cook, "--yes", "--log", log]) == 1
    assert "make room" in capsys.readouterr().err
    monkeypatch.undo()
    assert main(["delete", OTHER.cook, "--log", log]) == 1, "not without --yes"
    assert "Deleted other-cook" in _out(capsys, "delete", OTHER.cook, "--yes", "--log", log)
    assert main(["delete", OTHER.cook, "--yes", "--log", log]) == 1
    assert "has no cook" in capsys.readouterr().err


def test_a_cook_that_goes_on_is_not_deleted_until_nothing_would_take_it_up(
    log: str, capsys: Out
) -> None:
    now = RealClock().wall().isoformat(timespec="seconds")
    with Store(Path(log)) as store:
        store.begin(CookHeader("going-on", now), "boot", 0.0)
        store.begin(CookHeader("forgotten", "2020-01-01T00:00:00Z"), "boot", 0.0)
    assert main(["delete", "going-on", "--yes", "--log", log]) == 1
    assert "end it first" in capsys.readouterr().err
    assert main(["delete", "forgotten", "--yes", "--log", log]) == 0


@pytest.mark.parametrize(
    "arguments",
    [["note", "COOK", "place=x"], ["delete", "COOK", "--yes"]],
)
def test_while_a_site_writes_the_log_its_page_is_named(
    arguments: list[str], log: str, capsys: Out
) -> None:
    named = [HEADER.cook if a == "COOK" else a for a in arguments]
    with Store(Path(log)):
        assert main([*named, "--log", log]) == 1
    assert "on its page, in the logbook" in capsys.readouterr().err
