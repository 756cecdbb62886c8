"""Commands do their work or say in one sentence what to do."""

from __future__ import annotations

import json
import re
import socket
from pathlib import Path

import pytest

from pullcall.cli import demo
from pullcall.cli.main import build_parser, main
from pullcall.log.cook_file import cook_lines
from pullcall.simulators.scenario import scenario
from tests.cooks import HEADER, two_steak_cook

ROOT = Path(__file__).parents[2]


@pytest.fixture
def cook(tmp_path: Path) -> Path:
    file = tmp_path / "cook.jsonl"
    file.write_text("\n".join(cook_lines(HEADER, two_steak_cook(330.0))) + "\n")
    return file


def test_export_gives_back_what_was_imported(
    cook: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    log = str(tmp_path / "cooks.db")
    assert main(["import", str(cook), "--log", log]) == 0
    out = tmp_path / "out.jsonl"
    assert main(["export", HEADER.cook, "--log", log, "-o", str(out)]) == 0
    assert out.read_bytes() == cook.read_bytes()
    capsys.readouterr()
    assert main(["logbook", "--log", log]) == 0
    assert HEADER.cook in capsys.readouterr().out


def test_import_names_a_broken_line_and_keeps_the_rest(
    cook: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    lines = cook.read_text().splitlines()
    lines[4] = lines[4][:-5]
    cook.write_text("\n".join(lines))
    assert main(["import", str(cook), "--log", str(tmp_path / "cooks.db")]) == 2
    printed = capsys.readouterr()
    assert "line 5" in printed.err
    assert f"{len(lines) - 2} records, 1 left out" in printed.out


def test_replay_writes_the_streams_and_the_same_bytes_each_time(cook: Path, tmp_path: Path) -> None:
    outs: list[tuple[bytes, bytes]] = []
    for name in ("one", "two"):
        forecasts, calls = tmp_path / f"{name}.f", tmp_path / f"{name}.c"
        assert (
            main(["replay", str(cook), "--forecasts", str(forecasts), "--calls", str(calls)]) == 0
        )
        outs.append((forecasts.read_bytes(), calls.read_bytes()))
    assert outs[0] == outs[1]
    first = json.loads(outs[0][0].splitlines()[-1])
    assert {"t", "steak", "pull_in_s", "peak_c"} <= set(first)
    called = [json.loads(line) for line in outs[0][1].splitlines()]
    assert [c["call"] for c in called if c["steak"] == "left"][-1] == "over"
    assert called[0] == {
        "t": 111.0,
        "steak": ["left", "right"],
        "call": "turn",
        "in_s": 10.0,
        "priority": 2,
        "text": "Both: turn in 10",
        "id": "c1",
    }


def test_replay_prints_the_forecast_stream(cook: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["replay", str(cook), "--forecasts", "-"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert len(lines) == 2 * 330
    assert all(json.loads(line)["t"] >= 1.0 for line in lines)


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["export", "nothing", "--log", "{tmp}/none.db"], "There is no cook log"),
        (["replay", "{tmp}/none.jsonl", "--forecasts", "-"], "check the path"),
        (["replay", "nothing", "--log", "{tmp}/none.db"], "nothing is no file"),
        (["import", "{tmp}/none.jsonl", "--log", "{tmp}/cooks.db"], "Check the path"),
        (["serve", "--config", "{tmp}/none.toml"], "check --config"),
        (["demo", "--scenario", "nothing"], "There is no scenario"),
    ],
)
def test_a_mistake_is_one_sentence_on_stderr(
    arguments: list[str], says: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main([a.replace("{tmp}", str(tmp_path)) for a in arguments]) == 1
    error = capsys.readouterr().err
    assert says in error
    assert error.startswith("pullcall: ")
    assert "Traceback" not in error


def test_a_port_in_use_says_so(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = str(taken.getsockname()[1])
        assert main(["serve", "--port", port, "--log", str(tmp_path / "cooks.db")]) == 1
    assert "choose another with --port" in capsys.readouterr().err


@pytest.mark.parametrize(
    "arguments",
    [["serve", "--port", "99999"], ["demo", "--speed", "0"], ["demo", "--speed", "nan"]],
)
def test_a_number_out_of_range_is_refused(arguments: list[str]) -> None:
    with pytest.raises(SystemExit, match="2"):
        main(arguments)


def test_an_unreadable_log_says_so(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    log = tmp_path / "cooks.db"
    log.write_bytes(b"this is not a database" * 200)
    assert main(["logbook", "--log", str(log)]) == 1
    assert "is no cook log, and was left as it is" in capsys.readouterr().err
    log.with_name("cooks.db.lock").touch()  # as whoever wrote a log leaves it
    assert main(["logbook", "--log", str(log)]) == 1
    assert "move it aside" in capsys.readouterr().err


def test_a_log_of_another_version_says_so(cook: Path, capsys: pytest.CaptureFixture[str]) -> None:
    cook.write_text(cook.read_text().replace('"version":1', '"version":9', 1))
    assert main(["replay", str(cook), "--calls", "-"]) == 1
    assert "This log is version 9" in capsys.readouterr().err


def test_every_command_stands_in_the_readme() -> None:
    readme = (ROOT / "README.md").read_text()
    subparsers = build_parser()._subparsers
    assert subparsers is not None
    for name in subparsers._group_actions[0].choices or ():
        assert f"pullcall {name}" in readme, f"`pullcall {name}` is not in README.md"


@pytest.mark.parametrize(
    "command",
    [["serve"], ["demo"], ["export", "last"], ["logbook"], ["note", "last"], ["import", "{file}"]],
)
def test_a_folder_named_as_the_log_by_a_slip_stays_as_it_is(
    command: list[str], cook: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    documents = tmp_path / "Documents"
    documents.mkdir()
    (documents / "letter.txt").write_text("of somebody")
    before = sorted(tmp_path.iterdir())
    words = [word.format(file=cook) for word in command]
    assert main([*words, "--log", str(documents)]) == 1
    assert f"{documents} is a folder: give the path of a file" in capsys.readouterr().err
    assert sorted(tmp_path.iterdir()) == before
    assert (documents / "letter.txt").exists()


def test_an_empty_file_is_no_log_yet(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    log = tmp_path / "cooks.db"
    log.touch()
    assert main(["logbook", "--log", str(log)]) == 1
    assert f"There is no cook log at {log}: cook first" in capsys.readouterr().err


def test_the_demo_tells_a_quick_cook_to_the_second(capsys: pytest.CaptureFixture[str]) -> None:
    demo._tell_outline(scenario("demo", 1), 60.0)
    at = re.findall(r"^  after (\d+) s +\S", capsys.readouterr().out, re.MULTILINE)
    assert len(at) == 3
    assert sorted(set(map(int, at))) == list(map(int, at)), "each comes after the one before"
