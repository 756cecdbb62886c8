"""Where options may stand on the command line."""

from __future__ import annotations

from pathlib import Path

import pytest

from pullcall.cli.main import COMMANDS, build_parser


@pytest.mark.parametrize(
    "words, dest, value",
    [
        ("note last --log f.db place=X", "notes", ["place=X"]),
        ("note last a=1 --log f.db b=2", "notes", ["a=1", "b=2"]),
        ("compare a --log f.db b c", "cooks", ["a", "b", "c"]),
        ("learned own --log f.db walk 3 min", "value", ["3", "min"]),
        ("learned --log f.db", "act", None),
        ("learned own carry_over --log f.db -2 F", "value", ["-2", "F"]),
        ("replay --log f.db last", "cook", "last"),
    ],
)
def test_an_option_may_stand_between_others(words: str, dest: str, value: object) -> None:
    args = build_parser().parse_args(words.split())
    assert getattr(args, dest) == value
    assert args.log == Path("f.db")


@pytest.mark.parametrize("words", ["note", "note last --nothing", "report a b", "compare --log f"])
def test_what_is_missing_or_too_much_is_told_with_the_usage_of_the_command(
    words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as ended:
        build_parser().parse_args(words.split())
    assert ended.value.code == 2
    assert "usage: pullcall" in capsys.readouterr().err


@pytest.mark.parametrize("command", [name for name in COMMANDS if name != "bring_in"])
def test_each_command_has_its_help(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        build_parser().parse_args([command, "--help"])
    assert ended.value.code == 0
    assert f"usage: pullcall {command}" in capsys.readouterr().out
