"""A cook worked out from a log or a file, here or in a process of its own."""

from __future__ import annotations

import gzip
import json
import subprocess
import sys
from pathlib import Path

import pytest

from pullcall.errors import LogError
from pullcall.events import Call
from pullcall.hindsight import work
from pullcall.hindsight.shelf import Kind, Shelf
from pullcall.hindsight.work import facts_of, facts_of_file, put_on_shelf, read_source
from pullcall.log.cook_file import cook_lines
from pullcall.log.entries import Entry
from pullcall.log.replay import replay
from pullcall.log.stand import Stand
from pullcall.log.store import Store
from tests.cooks import ONE, in_time_order, off, on, rising

INPUTS = in_time_order([on(0.1)], rising("left", 0.2, 40.0, 48.0, 1.0 / 5.0), [off(35.0)])
LINES = list(cook_lines(ONE, INPUTS))


@pytest.fixture
def log(tmp_path: Path) -> Path:
    """A log with one cook as it was run: its inputs and the calls that were made."""
    path = tmp_path / "cooks.db"
    with Store(path) as store:
        store.begin(ONE, "boot", 0.0)
        store.write(Entry(ONE.cook, event) for event in INPUTS)
        calls = [e for e in replay(store.cook(ONE.cook)) if isinstance(e, Call)]
        assert calls
        store.write(Entry(ONE.cook, call) for call in calls)
    return path


def stand(log: Path) -> Stand:
    with Store(log, reads_only=True) as store:
        return store.stand(ONE.cook)


def nobody(_: int) -> None:
    """Hears no progress."""


def test_a_logged_cook_is_worked_out_once(log: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    facts = facts_of(log, ONE.cook)
    assert facts.as_called is True
    assert facts.steaks[0].off_t == 35.0
    monkeypatch.setattr(work, "work_out", None)  # would fail if it were asked again
    assert facts_of(log, ONE.cook) == facts
    assert put_on_shelf(log, ONE.cook, nobody) == facts


def test_the_recording_is_made_in_the_same_pass(log: Path) -> None:
    put_on_shelf(log, ONE.cook, nobody)
    kept = Shelf(log).find(ONE.cook, stand(log), Kind.RECORDING)
    assert kept is not None
    first = json.loads(gzip.decompress(kept).split(b"\n", 1)[0])
    assert (first["type"], first["cook"], first["as_called"]) == ("recording", ONE.cook, True)


def test_a_shelf_that_cannot_be_written_costs_nobody_the_facts(log: Path) -> None:
    Shelf(log).folder.write_text("in the way")
    assert facts_of(log, ONE.cook).steaks[0].off_t == 35.0
    with pytest.raises(LogError):
        put_on_shelf(log, ONE.cook, nobody)


def test_a_cook_file_is_worked_out_and_nothing_is_left_beside_it(tmp_path: Path) -> None:
    path = tmp_path / "cook.jsonl"
    path.write_text("\n".join(LINES) + "\n")
    facts = facts_of_file(path)
    assert facts.steaks[0].off_t == 35.0
    assert facts.as_called is None
    assert list(tmp_path.iterdir()) == [path]


def test_what_is_not_there_is_said(log: Path, tmp_path: Path) -> None:
    with pytest.raises(LogError, match="The log has no cook 'other'"):
        facts_of(log, "other")
    with pytest.raises(LogError, match="There is no cook log at"):
        facts_of(tmp_path / "none.db", "other")
    with pytest.raises(LogError, match="Cannot read"):
        facts_of_file(tmp_path / "none.jsonl")


def test_progress_is_told_now_and_then(log: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    class Slow:
        """Each look at it is a fifth of a second later."""

        def __init__(self) -> None:
            self.now = 0.0

        def monotonic(self) -> float:
            self.now += 0.2
            return self.now

    monkeypatch.setattr(work, "RealClock", Slow)
    told = list[int]()
    work.work_out(read_source(log, ONE.cook), told.append)
    assert told == sorted(set(told))
    assert 10 < len(told) < 50  # every third percent
    assert told[0] > 0
    assert told[-1] <= 99


def run(log: Path, cook: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "pullcall.hindsight", str(log), cook],
        capture_output=True,
        text=True,
        timeout=100,
        check=False,
    )


@pytest.mark.integration
def test_a_process_of_its_own_puts_a_cook_on_the_shelf(log: Path) -> None:
    ended = run(log, ONE.cook)
    assert (ended.returncode, ended.stderr) == (0, "")
    facts = Shelf(log).find_facts(ONE.cook, stand(log))
    assert facts is not None
    assert facts.as_called is True
    assert Shelf(log).find(ONE.cook, stand(log), Kind.RECORDING) is not None


@pytest.mark.integration
def test_a_process_that_cannot_says_why(log: Path) -> None:
    ended = run(log, "other")
    assert ended.returncode == 1
    assert ended.stderr == "The log has no cook 'other': `pullcall logbook` lists them.\n"
