"""``pullcall learned`` tells what cooks taught, and keeps what is chosen."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from pullcall.cli.main import main
from pullcall.hindsight.work import facts_of
from pullcall.learning.choice import Mode
from pullcall.learning.learn import NAMES
from pullcall.log.cook_file import cook_lines, parse_cook_lines
from pullcall.log.store import Store
from tests.cooks import ONE, in_time_order, off, on, rising


@pytest.fixture(scope="module")
def worked_out(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of a log with one cook, whose facts are kept beside it; its steak came off six
    seconds after it crossed."""
    folder = tmp_path_factory.mktemp("learned") / "log"
    folder.mkdir()
    events = in_time_order([on(0.1), off(306.0)], rising("left", 0.2, 330.0, 5.0, 49.0 / 300.0))
    with Store(folder / "cooks.db") as store:
        store.bring_in(parse_cook_lines(cook_lines(ONE, events)), "2026-06-13T15:00:00+00:00")
    facts_of(folder / "cooks.db", ONE.cook)
    return folder


@pytest.fixture
def log(worked_out: Path, tmp_path: Path) -> Path:
    return shutil.copytree(worked_out, tmp_path / "log") / "cooks.db"


def learned(log: Path, *words: str) -> int:
    return main(["learned", *words, "--unit", "F", "--log", str(log)])


def choice(log: Path, name: str) -> tuple[Mode, float | None]:
    with Store(log, reads_only=True) as store:
        found = next(one for one in store.choices() if one.name == name)
    return found.mode, found.value


def test_it_tells_every_lesson_and_the_evidence(
    log: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert learned(log, "--evidence") == 0
    printed = capsys.readouterr().out
    assert all(f"\n{name} " in printed for name in NAMES)
    assert "From simulated cooks, for simulated cooks." in printed
    assert "from your cook: " in printed
    assert f"{ONE.cook}  left" in printed


@pytest.mark.parametrize(
    ("name", "words", "value"),
    [
        ("reaction", ["2.5", "s"], 2.5),
        ("reaction", ["2.5s"], 2.5),
        ("walk", ["3 min"], 180.0),
        ("carry_over", ["5.4", "F"], 3.0),
        ("carry_over", ["3", "c"], 3.0),
        ("band", ["1.3"], 1.3),
    ],
)
def test_an_own_figure_is_taken_with_its_unit(
    log: Path, name: str, words: list[str], value: float
) -> None:
    assert learned(log, "own", name, *words) == 0
    mode, kept = choice(log, name)
    assert mode is Mode.OWN
    assert kept == pytest.approx(value)


def test_what_was_chosen_can_be_put_back_and_taken_again(
    log: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert learned(log, "own", "walk", "9 min") == 0
    assert "your own 9.0 min" in capsys.readouterr().out
    assert learned(log, "reset", "all") == 0
    assert choice(log, "walk") == choice(log, "grill") == (Mode.DEFAULT, None)
    assert learned(log, "use", "reaction") == 0
    assert choice(log, "reaction") == (Mode.LEARNED, None)


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["use", "salt"], "Name a lesson"),
        (["use"], "Name a lesson"),
        (["own", "reaction", "5", "F"], '"2.5 s" or "3 min"'),
        (["own", "reaction"], '"2.5 s" or "3 min"'),
        (["own", "reaction", "3", "min"], "lies between"),
        (["own", "grill", "118", "C"], "no single figure"),
        (["own", "all", "3", "s"], "a figure of its own"),
        (["use", "walk", "3", "min"], "goes with own"),
    ],
)
def test_what_cannot_be_chosen_is_told_in_a_sentence(
    log: Path, words: list[str], says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert learned(log, *words) == 1
    assert says in capsys.readouterr().err
    with Store(log, reads_only=True) as store:
        assert store.choices() == ()


def test_while_a_site_runs_the_page_is_the_place_to_choose(
    log: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with Store(log):
        assert learned(log) == 0
        assert learned(log, "use", "walk") == 1
    assert "on its page" in capsys.readouterr().err
