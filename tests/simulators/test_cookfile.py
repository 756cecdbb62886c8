"""Whole cooks as JSON Lines, format version 1."""

import json
import subprocess
import sys
from itertools import pairwise
from pathlib import Path

import pytest

from pullcall.simulators.cookfile import lines, main
from pullcall.simulators.scenario import names, scenario


def test_the_same_seed_writes_the_same_bytes() -> None:
    written = ["\n".join(lines(scenario("demo", seed))) for seed in (3, 3, 4)]
    assert written[0] == written[1] != written[2]


@pytest.mark.parametrize("name", names())
def test_every_record_is_one_of_the_format_and_in_time_order(name: str) -> None:
    header, *rest = (json.loads(line) for line in lines(scenario(name)))
    assert header["record"] == "cook"
    assert header["version"] == 1
    assert header["simulated"] is True
    steaks = {steak["steak"] for steak in header["steaks"]}
    for record in rest:
        assert record["record"] in ("reading", "spot", "mark")
        if record["record"] == "mark":
            assert record["steak"] in steaks | {None}
        elif record["steak"] is None:
            assert record["channel"] == "simulated-3/0"
            assert 200.0 < record["celsius"] < 350.0
        else:
            assert record["steak"] in steaks
            assert -40.0 < record["celsius"] < 120.0
    times = [record["t"] for record in rest]
    assert times == sorted(times)


def test_a_probe_gap_is_a_hole_in_the_file() -> None:
    written = map(json.loads, lines(scenario("rough")))
    times = [r["t"] for r in written if r.get("steak") == "left"]
    assert max(b - a for a, b in pairwise(times)) > 5.0


def test_the_command_writes_the_named_cook(tmp_path: Path) -> None:
    out = tmp_path / "cook.jsonl"
    command = [sys.executable, "-m", "pullcall.simulators.cookfile", "backyard", "--seed", "9"]
    subprocess.run([*command, "-o", str(out)], check=True, timeout=60)
    assert out.read_text(encoding="utf-8").splitlines() == list(lines(scenario("backyard", 9)))


def test_the_command_writes_to_standard_output(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["spots"]) == 0
    assert capsys.readouterr().out.splitlines() == list(lines(scenario("spots")))


def test_a_file_that_cannot_be_written_is_one_clear_sentence(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["spots", "-o", str(tmp_path / "missing" / "cook.jsonl")]) == 1
    said = capsys.readouterr().err
    assert "No such file or directory" in said
    assert said.count("\n") == 1
