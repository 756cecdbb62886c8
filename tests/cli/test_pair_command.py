"""``pullcall pair`` asks for what its arguments say, or says what to do."""

from __future__ import annotations

import argparse
from pathlib import Path

import pytest

from pullcall.cli.common import lasts
from pullcall.cli.invitation import digits, lines, remaining
from pullcall.cli.main import build_parser, main
from pullcall.cli.pair import _wish
from pullcall.errors import RefusedError
from tests.integration.daemon import free_port


@pytest.fixture(autouse=True)
def no_own_configuration(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))


def test_without_a_site_it_says_to_start_one(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["pair", "--port", str(free_port())]) == 1
    assert "start it, or give its port" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("text", "seconds"), [("4 h", 14400.0), ("2 days", 172800.0), ("7d", 604800.0)]
)
def test_a_life_is_written_in_hours_or_days(text: str, seconds: float) -> None:
    assert lasts(text) == seconds


def test_another_life_is_refused_with_an_example() -> None:
    with pytest.raises(argparse.ArgumentTypeError, match="2 days"):
        lasts("a fortnight")


def test_the_roles_are_the_three() -> None:
    with pytest.raises(SystemExit):
        build_parser().parse_args(["pair", "--role", "judge"])


INVITED = {
    "role": "watcher",
    "expires_in_s": 43200.0,
    "links": ["https://192.168.7.20:8317/#k=abc", "https://pullcall.local:8317/#k=abc"],
    "code": "12345678",
    "code_expires_in_s": 120.0,
}


def test_an_invitation_is_printed_with_its_code_and_a_watchers_link() -> None:
    printed = "\n".join(lines(INVITED))
    assert "type 1234 5678" in printed
    assert "good for 12 h" in printed
    assert "https://192.168.7.20:8317/#k=abc" in printed
    assert "pullcall.local" in printed


def test_a_cooks_link_is_only_in_the_qr() -> None:
    assert "#k=" not in "\n".join(lines({**INVITED, "role": "cook"}))


@pytest.mark.parametrize(
    ("seconds", "words"),
    [(119.0, "2 min"), (45.0, "45 s"), (43200.0, "12 h"), (259200.0, "3 days")],
)
def test_lengths_of_time_are_said_roughly(seconds: float, words: str) -> None:
    assert remaining(seconds) == words


def test_digits_are_said_in_fours() -> None:
    assert digits("12345678") == "1234 5678"


def test_only_a_watcher_is_shown_less() -> None:
    args = build_parser().parse_args(["pair", "--role", "hand", "--delay", "2"])
    with pytest.raises(RefusedError, match="--role watcher"):
        _wish(args)
