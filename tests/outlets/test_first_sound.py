"""One tone while everything else still starts."""

from __future__ import annotations

import threading
from collections.abc import AsyncGenerator, Callable
from pathlib import Path

from pullcall.outlets.first_sound import first_sound
from pullcall.outlets.folder_player import FolderPlayer
from pullcall.outlets.player import PlayerError
from pullcall.outlets.wav import Samples


class Slow:
    """Plays until it is let go; then it fails, if it is to."""

    def __init__(self, fault: PlayerError | None = None) -> None:
        self.began, self.go = threading.Event(), threading.Event()
        self.ended = False
        self._fault = fault

    async def check(self) -> None:
        pass

    async def play(self, parts: AsyncGenerator[Samples], played: Callable[[], None]) -> None:
        async for _ in parts:
            self.began.set()
            self.go.wait(20)
        self.ended = True
        if self._fault is not None:
            raise self._fault


def test_it_sounds_while_the_block_works_and_is_over_after_it() -> None:
    player = Slow()
    with first_sound(player, ("left",), ("left", "right")):
        assert player.began.wait(20)
        player.go.set()
    assert player.ended


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
