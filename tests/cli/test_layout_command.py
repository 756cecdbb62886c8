"""``pullcall layout`` as people use it."""

import argparse
from pathlib import Path

import pytest

from pullcall.cli import layout

TWIN = Path(__file__).parents[2] / "config" / "layouts" / "twin-prong.toml"


def run(*words: str) -> int:
    parser = argparse.ArgumentParser()
    layout.add(parser.add_subparsers())
    args = parser.parse_args(["layout", *words])
    status = args.run(args)
    assert isinstance(status, int)
    return status


def test_a_good_packet_is_shown_field_by_field(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(str(TWIN), "--hex", "57 af 03 62 06") == 0
    head, names, first, second = capsys.readouterr().out.splitlines()
    assert head == "twin prong: 57 af 03 62 06"
    assert names.split()[:4] == ["channel", "offset", "type", "bytes"]
    assert " ".join(first.split()) == "1 1-2 u16le af 03 943 54.30 C (129.7 F) good"
    assert " ".join(second.split()) == "2 3-4 u16le 62 06 1634 123.40 C (254.1 F) good"


def test_a_marked_value_ends_with_one(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(str(TWIN), "--hex", "0x57 0xaf 0x03 0xff 0xff") == 1
    assert capsys.readouterr().out.split()[-3:] == ["no", "reading", "invalid"]


@pytest.mark.parametrize(
    ("packet", "words"),
    [
        ("1f 02", "too short: 2 bytes, and channel 2 needs 5."),
        ("1f 0", "is not bytes in hex"),
        ("steak", "is not bytes in hex"),
        ("", "is not bytes in hex"),
    ],
)
def test_a_bad_packet_gets_one_sentence(
    capsys: pytest.CaptureFixture[str], packet: str, words: str
) -> None:
    assert run(str(TWIN), "--hex", packet) == 1
    said = capsys.readouterr().err
    assert words in said
    assert len(said.splitlines()) == 1


def test_a_missing_layout_is_named(capsys: pytest.CaptureFixture[str]) -> None:
    assert run("/nowhere/probe.toml", "--hex", "00") == 1
    assert "/nowhere/probe.toml" in capsys.readouterr().err
