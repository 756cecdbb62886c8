"""A tone every five seconds while everything else still starts."""

from __future__ import annotations

import threading
from collections.abc import AsyncGenerator, Callable
from pathlib import Path

import pytest

from pullcall.outlets.first_sound import first_sound
from pullcall.outlets.folder_player import FolderPlayer
from pullcall.outlets.player import PlayerError
from pullcall.outlets.wav import Samples


class Slow:
    """Plays until it is let go; then it fails, if it is to."""

    def __init__(self, fault: PlayerError | None = None) -> None:
        self.began, self.go, self.thrice = (threading.Event() for _ in range(3))
        self.ended = False
        self.plays = 0
        self._fault = fault

    async def check(self) -> None:
        pass

    async def play(self, parts: AsyncGenerator[Samples], played: Callable[[], None]) -> None:
        async for _ in parts:
            self.began.set()
            self.go.wait(20)
        self.ended = True
        self.plays += 1
        if self.plays >= 3:
            self.thrice.set()
        if self._fault is not None:
            raise self._fault


def test_it_sounds_while_the_block_works_and_is_over_after_it() -> None:
    player = Slow()
    with first_sound(player, ("left",), ("left", "right")):
        assert player.began.wait(20)
        player.go.set()
    assert player.ended


@pytest.mark.parametrize("fault", [None, PlayerError("Plug it in.")])
def test_it_goes_on_until_the_block_is_over_whether_or_not_it_was_heard(
    fault: PlayerError | None, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("pullcall.outlets.first_sound._EVERY_S", 0.0)
    player = Slow(fault)
    player.go.set()
    with first_sound(player, ("left",), ("left",)):
        assert player.thrice.wait(20)
    plays = player.plays
    assert "first sound" not in {thread.name for thread in threading.enumerate()}
    assert player.plays == plays


def test_a_player_that_fails_keeps_nothing_from_starting() -> None:
    player = Slow(PlayerError("Plug it in."))
    player.go.set()
    with first_sound(player, ("left",), ("left",)):
        pass
    assert player.ended


def test_it_is_a_file_where_sounds_go_to_a_folder(tmp_path: Path) -> None:
    with first_sound(FolderPlayer(tmp_path), ("left",), ("left",)):
        pass
    assert [path.name for path in tmp_path.iterdir()] == ["call-0001.wav"]
