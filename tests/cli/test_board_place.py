"""Links lead to the board that runs on this machine, wherever it was told to be."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from pullcall.cli import board_place
from pullcall.cli.main import main
from pullcall.served_section import BoardSection
from tests.integration.daemon import free_port

SECRET = "0f" * 32
OTHER = bytes.fromhex("1e" * 32)


@pytest.fixture
def state(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.delenv("STATE_DIRECTORY", raising=False)
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path))
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    return tmp_path / "pullcall"


def page(host: str = "127.0.0.1", port: int = 8701) -> BoardSection:
    return BoardSection(host=host, port=port, secret=SECRET)


def link(capsys: pytest.CaptureFixture[str], config: Path, *more: str) -> tuple[str, str]:
    """Where a link leads, and all that was printed."""
    assert main(["board", "link", "--config", str(config), *more]) == 0
    printed = capsys.readouterr().out
    found = re.search(r"share the link: (\S+)#k=", printed)
    assert found, printed
    return found[1], printed


def test_a_link_leads_to_the_running_board_unless_told_otherwise(
    state: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    config = state.with_name("pullcall.toml")
    config.write_text(f'[board]\nsecret = "{SECRET}"\n')
    with board_place.told(page("192.168.7.5"), bytes.fromhex(SECRET), state):
        at, printed = link(capsys, config)
        assert at == "https://192.168.7.5:8701/"
        assert "opens once" not in printed, "it runs"
        assert link(capsys, config, "--port", "9001")[0] == "https://192.168.7.5:9001/"
        named = link(capsys, config, "--address", "b.example.org")
        assert named[0] == "https://b.example.org/"
    at, printed = link(capsys, config)
    assert at.endswith(":8327/"), "it has ended"
    assert "opens once" in printed


def test_the_command_tells_where_it_serves(
    state: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    config, port = state.with_name("pullcall.toml"), free_port()
    config.write_text(f'[board]\nsecret = "{SECRET}"\n[mqtt]\nhost = "broker.example"\n')
    led: list[str] = []

    async def serve(*_: object) -> None:
        led.append(link(capsys, config, "--host", "0.0.0.0")[0])

    monkeypatch.setattr("pullcall.app.serve", serve)
    assert main(["board", "--config", str(config), "--port", str(port)]) == 0
    assert led[0].endswith(f":{port}/")


def test_only_a_board_that_runs_tells_and_the_first_of_two(state: Path) -> None:
    secret = bytes.fromhex(SECRET)
    assert board_place.running(secret, state) is None
    with board_place.told(page(), secret, state):
        with board_place.told(page(port=8702), secret, state):
            assert board_place.running(secret, state) == ("127.0.0.1", 8701)
        assert board_place.running(secret, state) == ("127.0.0.1", 8701)
    assert board_place.running(secret, state) is None


def test_no_link_leads_to_a_board_that_would_not_take_it(state: Path) -> None:
    with board_place.told(page(), OTHER, state):
        assert board_place.running(bytes.fromhex(SECRET), state) is None
    assert OTHER.hex() not in (state / "board.running").read_text()


@pytest.mark.parametrize("text", ["", "[]", "{}", '{"host": 1', "\udcff"], ids=repr)
def test_what_is_no_place_leads_nowhere(state: Path, text: str) -> None:
    secret = bytes.fromhex(SECRET)
    with board_place.told(page(), secret, state):
        (state / "board.running").write_bytes(text.encode(errors="surrogateescape"))
        assert board_place.running(secret, state) is None


def test_a_folder_that_cannot_be_written_keeps_no_board_from_running(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    with board_place.told(page(), OTHER, tmp_path / "file"):
        assert board_place.running(OTHER, tmp_path / "file") is None


def test_what_the_board_itself_fails_at_is_not_swallowed(state: Path) -> None:
    with pytest.raises(OSError, match="in use"), board_place.told(page(), OTHER, state):
        raise OSError("address in use")
