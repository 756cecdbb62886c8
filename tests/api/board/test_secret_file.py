"""A board's secret is made once and kept for its owner's eyes only."""

from __future__ import annotations

from pathlib import Path

import pytest

from pullcall.api.board.secret_file import board_secret, known_secret
from pullcall.errors import ConfigError

GIVEN = "0f" * 32


def test_a_secret_that_is_given_is_used_and_none_is_made(tmp_path: Path) -> None:
    assert board_secret(GIVEN, tmp_path) == bytes.fromhex(GIVEN)
    assert list(tmp_path.iterdir()) == []


def test_the_first_start_makes_one_and_later_ones_use_it(tmp_path: Path) -> None:
    """ASVS 13.3.2: access to secrets is for who needs them."""
    folder = tmp_path / "state"
    made = board_secret("", folder)
    assert len(made) == 32
    assert board_secret("", folder) == made
    (file,) = folder.iterdir()
    assert file.stat().st_mode & 0o777 == 0o600
    assert folder.stat().st_mode & 0o777 == 0o700


def test_no_two_boards_make_the_same_one(tmp_path: Path) -> None:
    assert board_secret("", tmp_path / "one") != board_secret("", tmp_path / "other")


def test_a_board_that_starts_at_once_with_another_uses_the_others(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The other's file appears just before this one's is put in its place."""
    kept = tmp_path / "board.secret"
    honest = Path.hardlink_to

    def late(self: Path, target: Path) -> None:
        if not self.exists():
            self.write_text(f"{GIVEN}\n")
        honest(self, target)

    monkeypatch.setattr(Path, "hardlink_to", late)
    assert board_secret("", tmp_path) == bytes.fromhex(GIVEN)
    assert list(tmp_path.iterdir()) == [kept]


@pytest.mark.parametrize("content", ["", "abc", "0F" * 32, "ü" * 64])
def test_a_file_that_holds_none_is_said_and_left(tmp_path: Path, content: str) -> None:
    path = tmp_path / "board.secret"
    path.write_text(content, encoding="utf-8")
    with pytest.raises(ConfigError, match="delete it for a new one"):
        board_secret("", tmp_path)
    assert path.read_text(encoding="utf-8") == content


def test_a_folder_that_cannot_be_written_is_said_with_what_to_do(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(ConfigError, match=r"\[board\] secret"):
        board_secret("", tmp_path / "file" / "state")


def test_who_makes_links_uses_what_the_board_uses(tmp_path: Path) -> None:
    made = board_secret("", tmp_path / "state")
    assert known_secret("", tmp_path / "state") == made
    assert known_secret(GIVEN, tmp_path / "state") == bytes.fromhex(GIVEN)


def test_who_makes_links_makes_no_secret(tmp_path: Path) -> None:
    with pytest.raises(ConfigError, match="start the board once"):
        known_secret("", tmp_path / "state")
    assert list(tmp_path.iterdir()) == []


def test_a_secret_that_may_not_be_read_is_said_with_what_to_do(tmp_path: Path) -> None:
    (tmp_path / "board.secret").mkdir()
    with pytest.raises(ConfigError, match="as the user that the board runs"):
        known_secret("", tmp_path)
