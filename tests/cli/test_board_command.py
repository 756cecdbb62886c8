"""``pullcall board`` says what it needs, and prints links that any board with the secret takes."""

from __future__ import annotations

import re
from datetime import UTC, datetime
from pathlib import Path

import pytest
import trustme

from pullcall.access.records import Sight
from pullcall.api.board.passes import Pass, Passes, Purpose
from pullcall.api.board.secret_file import board_secret
from pullcall.cli.main import build_parser, main

SECRET = "0f" * 32


@pytest.fixture(autouse=True)
def own_folders(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("STATE_DIRECTORY", raising=False)
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))


@pytest.fixture
def config(tmp_path: Path) -> str:
    path = tmp_path / "pullcall.toml"
    path.write_text(f'[board]\nsecret = "{SECRET}"\n')
    return str(path)


def printed_link(printed: str) -> tuple[str, str]:
    """Where a link leads, and its secret."""
    found = re.search(r"share the link: (\S+)#k=(\S+)", printed)
    assert found, printed
    return found[1], found[2]


def told(secret: str, by: bytes = bytes.fromhex(SECRET)) -> Pass:
    found = Passes(by).read(Purpose.LINK, secret, datetime.now(UTC).timestamp())
    assert found is not None
    return found


def test_without_a_broker_it_says_what_to_write(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["board"]) == 1
    assert "[mqtt] host" in capsys.readouterr().err


def test_a_link_says_what_was_asked_for(capsys: pytest.CaptureFixture[str], config: str) -> None:
    arguments = ["--site", "north", "--lasts", "4 h", "--delay", "2", "--hide-targets"]
    where = ["--address", "https://board.example.org"]
    assert main(["board", "link", *arguments, *where, "--config", config]) == 0
    printed = capsys.readouterr().out
    at, secret = printed_link(printed)
    assert at == "https://board.example.org/sites/north/"
    assert "the site north only" in printed
    assert "good for 4 h" in printed
    assert "▄" in printed, "the QR"
    found = told(secret)
    assert (found.sight, found.site) == (Sight(120.0, hides_targets=True), "north")
    left_s = found.ends - datetime.now(UTC).timestamp()
    assert left_s == pytest.approx(4 * 3600.0, abs=60.0)


@pytest.mark.parametrize(
    ("address", "link"),
    [
        ("board.example.org", "https://board.example.org/"),
        ("board.example.org:8443", "https://board.example.org:8443/"),
        ("https://example.org/grills/", "https://example.org/grills/"),
        ("http://192.168.7.5:8327", "http://192.168.7.5:8327/"),
    ],
)
def test_an_address_is_taken_as_people_write_it(
    capsys: pytest.CaptureFixture[str], config: str, address: str, link: str
) -> None:
    assert main(["board", "link", "--address", address, "--config", config]) == 0
    at, secret = printed_link(capsys.readouterr().out)
    assert at == link
    assert told(secret).site is None


@pytest.mark.parametrize(
    "argument",
    [
        ("--address", "ftp://board"),
        ("--address", "https://"),
        ("--address", "https://board/#k=x"),
        ("--site", "North Grill"),
        ("--delay", "3"),
        ("--lasts", "a fortnight"),
    ],
    ids=" ".join,
)
def test_what_makes_no_sense_is_refused(argument: tuple[str, str]) -> None:
    with pytest.raises(SystemExit):
        build_parser().parse_args(["board", "link", *argument])


def test_a_link_that_would_last_too_long_is_refused(
    capsys: pytest.CaptureFixture[str], config: str
) -> None:
    where = ["--address", "board.example.org", "--config", config]
    assert main(["board", "link", "--lasts", "8 days", *where]) == 1
    assert "ask for less" in capsys.readouterr().err


def test_a_link_of_a_board_that_is_set_up_for_this_machine_says_when_it_opens(
    capsys: pytest.CaptureFixture[str], config: str
) -> None:
    assert main(["board", "link", "--config", config]) == 0
    told = capsys.readouterr().out
    assert "share the link: https://" in told
    assert "It opens once the board runs with --host 0.0.0.0" in told


@pytest.mark.parametrize(
    "arguments",
    [
        ["board", "link", "--host", "192.168.7.5", "--port", "9001"],
        ["board", "--host", "192.168.7.5", "--port", "9001", "link"],
    ],
)
def test_a_link_leads_to_where_the_board_is_told_to_be(
    capsys: pytest.CaptureFixture[str], config: str, arguments: list[str]
) -> None:
    assert main([*arguments, "--config", config]) == 0
    at, _ = printed_link(capsys.readouterr().out)
    assert at == "https://192.168.7.5:9001/"


def test_the_names_of_the_boards_own_certificate_come_first(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    issued = trustme.CA().issue_cert("board.example.org")
    issued.cert_chain_pems[0].write_to_path(tmp_path / "board.pem")
    issued.private_key_pem.write_to_path(tmp_path / "board.key")
    config = tmp_path / "own.toml"
    config.write_text(
        f'[board]\nsecret = "{SECRET}"\nhost = "0.0.0.0"\n'
        'tls = "files"\ncertificate = "board.pem"\nkey = "board.key"\n'
    )
    assert main(["board", "link", "--config", str(config)]) == 0
    assert printed_link(capsys.readouterr().out)[0] == "https://board.example.org:8327/"


def test_a_link_is_signed_with_the_secret_that_the_board_made(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    made = board_secret("", tmp_path / "state" / "pullcall")
    assert main(["board", "link", "--address", "board.example.org"]) == 0
    _, secret = printed_link(capsys.readouterr().out)
    assert told(secret, made).site is None
    assert made.hex() not in secret


def test_a_link_that_no_board_would_take_is_not_made(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """Where the board runs as another user, its secret is not in this one's folder."""
    assert main(["board", "link", "--address", "board.example.org"]) == 1
    said = capsys.readouterr()
    assert said.out == ""
    assert "start the board once as this user, or set [board] secret" in said.err
    assert not (tmp_path / "state").exists()
