"""A cook from elsewhere at which the core fails: played all the same, or refused in a sentence."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from pullcall.cli.main import main
from pullcall.core.cook import Cook, Effect
from pullcall.errors import UnworkableError
from pullcall.events import Input, Reading
from pullcall.hindsight.shelf import Kind, Shelf
from pullcall.hindsight.work import facts_of_file, put_on_shelf
from pullcall.log.cook_file import CookFile, cook_lines, parse_cook_lines
from pullcall.log.replay import replay, replayed
from pullcall.log.store import Store
from tests.cooks import ONE, in_time_order, off, on, rising
from tests.poison import POISON_C, fail_at, fail_when, is_poisoned

POISON = Reading(40.1, "left", POISON_C, "p/1")
SOUND = tuple(in_time_order([on(0.1)], rising("left", 0.2, 40.0, 90.0, 1.0 / 5.0), [off(85.0)]))
INPUTS = tuple(in_time_order(list(SOUND), [POISON]))


def cook_of(inputs: tuple[Input, ...]) -> CookFile:
    return parse_cook_lines(cook_lines(ONE, inputs))


def by_a_bare_core(inputs: tuple[Input, ...]) -> list[Effect]:
    core = Cook(ONE)
    effects = [effect for event in inputs for effect in core.apply(event)]
    return effects + core.advance(inputs[-1].t)


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "cook.jsonl"
    path.write_text("\n".join(cook_lines(ONE, INPUTS)) + "\n")
    return path


def test_a_sound_cook_is_replayed_as_by_a_bare_core() -> None:
    effects, cook = replayed(cook_of(INPUTS))
    assert effects == by_a_bare_core(INPUTS)
    assert cook == cook_of(INPUTS)


def test_what_the_core_fails_at_is_left_out_in_the_same_way_each_time(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    fail_at(monkeypatch, is_poisoned)
    effects, cook = replayed(cook_of(INPUTS))
    assert effects == by_a_bare_core(SOUND)
    assert [omission.what for omission in cook.omissions] == [POISON]
    assert cook.inputs == SOUND
    assert replayed(cook_of(INPUTS)) == (effects, cook)


def test_a_cook_of_which_nothing_can_be_worked_with_is_refused_in_a_sentence(
    file: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    fail_when(monkeypatch, lambda now: now == 30.0)
    with pytest.raises(UnworkableError, match="fail at 30 s of it"):
        replay(cook_of(INPUTS))
    assert main(["replay", str(file), "--calls", "-"]) == 1
    printed = capsys.readouterr()
    assert printed.out == ""
    assert printed.err.startswith("pullcall: The cook ")
    assert printed.err.count("\n") == 1


def test_the_command_replays_it_and_says_what_is_left_out(
    file: Path,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    fail_at(monkeypatch, is_poisoned)
    assert main(["replay", str(file), "--forecasts", str(tmp_path / "a")]) == 0
    said = capsys.readouterr().err
    assert said.startswith("A reading of the left probe at ")
    assert said.endswith("could not be worked with and is left out: look at the steak.\n")
    file.write_text("\n".join(cook_lines(ONE, SOUND)) + "\n")
    assert main(["replay", str(file), "--forecasts", str(tmp_path / "b")]) == 0
    assert (tmp_path / "a").read_bytes() == (tmp_path / "b").read_bytes()


def test_facts_and_recording_are_those_of_the_cook_without_it(
    file: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    fail_at(monkeypatch, is_poisoned)
    made = []
    for name, inputs in (("with.db", INPUTS), ("without.db", SOUND)):
        log = tmp_path / name
        with Store(log) as store:
            store.bring_in(cook_of(inputs), "2026-06-13T15:00:00+00:00")
            stand = store.stand(ONE.cook)
        facts = put_on_shelf(log, ONE.cook, lambda percent: None)
        made.append((facts, Shelf(log).find(ONE.cook, stand, Kind.RECORDING)))
    assert made[0] == made[1]
    assert facts_of_file(file) == replace(made[1][0], as_called=None)


def test_the_logbook_of_a_log_with_a_hopeless_cook_names_it_and_writes_the_others(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    log = tmp_path / "cooks.db"
    with Store(log) as store:
        for id, until in (("long", 90.0), ("short", 20.0)):
            inputs = tuple(event for event in SOUND if event.t <= until)
            cook = parse_cook_lines(cook_lines(replace(ONE, cook=id), inputs))
            store.bring_in(cook, "2026-06-13T15:00:00+00:00")
    fail_when(monkeypatch, lambda now: now == 30.0)
    assert main(["logbook", "--csv", "-", "--log", str(log)]) == 0
    printed = capsys.readouterr()
    assert "The cook long cannot be worked out" in printed.err
    assert "short" in printed.out
