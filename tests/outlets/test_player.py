"""Commands that play, fail, hang or are missing; all are small programs of the test's own."""

from __future__ import annotations

import asyncio
import sys
from collections.abc import AsyncGenerator
from pathlib import Path

import numpy as np
import pytest

from pullcall.outlets.folder_player import FolderPlayer
from pullcall.outlets.player import NO_COMMAND, CommandPlayer, PlayerError
from pullcall.outlets.wav import Samples, from_wav, joined, seconds_of, silence

TONE = np.full(2205, 1000, dtype=np.int16)
#: For commands that are to end by themselves, on a machine that may be busy.
PATIENT_S = 20.0
WORDS = np.full(4410, 2000, dtype=np.int16)


async def parts(*samples: Samples) -> AsyncGenerator[Samples]:
    for part in samples:
        yield part


async def endless(part: Samples) -> AsyncGenerator[Samples]:
    while True:
        yield part


def program(folder: Path, body: str) -> tuple[str, ...]:
    path = folder / "player.py"
    path.write_text(body)
    return (sys.executable, str(path))


class Played:
    def __init__(self) -> None:
        self.count = 0

    def __call__(self) -> None:
        self.count += 1


async def test_each_part_is_handed_to_the_command_in_order(tmp_path: Path) -> None:
    out = tmp_path / "out"
    out.mkdir()
    body = (
        "import os, shutil, sys\n"
        f"folder = {str(out)!r}\n"
        "name = str(len(os.listdir(folder))) + '.wav'\n"
        "shutil.copy(sys.argv[1], os.path.join(folder, name))"
    )
    player = CommandPlayer(program(tmp_path, body), PATIENT_S)
    played = Played()
    await player.play(parts(TONE, WORDS), played)
    heard = [from_wav(path.read_bytes()).tolist() for path in await asyncio.to_thread(_files, out)]
    check, *rest = heard
    assert set(check) == {0}
    assert rest == [TONE.tolist(), WORDS.tolist()]
    assert played.count == 1


async def test_a_command_that_fails_says_so_in_its_own_words(tmp_path: Path) -> None:
    body = "import sys\nsys.exit('no device here')"
    player = CommandPlayer(program(tmp_path, body), PATIENT_S)
    played = Played()
    with pytest.raises(PlayerError, match=r"code 1 \(no device here\): check the loudspeaker"):
        await player.play(parts(TONE), played)
    assert played.count == 0


async def test_a_command_that_is_missing_says_what_to_do() -> None:
    player = CommandPlayer(("no-such-player-here",))
    with pytest.raises(PlayerError, match="install it or correct"):
        await player.check()


async def test_a_machine_without_any_player_says_which_package_has_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PATH", str(tmp_path))
    with pytest.raises(PlayerError) as failed:
        await CommandPlayer().check()
    assert str(failed.value) == NO_COMMAND


async def test_the_first_usual_command_that_can_play_is_kept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name, code in (("pw-play", 1), ("paplay", 0), ("aplay", 0)):
        path = tmp_path / name
        path.write_text(f"#!/bin/sh\necho {name} >> {tmp_path}/log\nexit {code}\n")
        path.chmod(0o755)
    monkeypatch.setenv("PATH", str(tmp_path))
    player = CommandPlayer(slack_s=PATIENT_S)
    await player.play(parts(TONE), Played())
    assert (tmp_path / "log").read_text().split() == ["pw-play", "paplay", "paplay"]


async def test_a_command_that_hangs_is_given_up(tmp_path: Path) -> None:
    player = CommandPlayer(program(tmp_path, "import signal\nsignal.pause()"), slack_s=0.5)
    with pytest.raises(PlayerError, match="did not end in time"):
        await player.check()


async def test_a_folder_gets_one_numbered_file_for_each_utterance(tmp_path: Path) -> None:
    folder = tmp_path / "calls"
    player, played = FolderPlayer(folder), Played()
    await player.play(parts(TONE, WORDS), played)
    await player.play(parts(TONE), played)
    assert [path.name for path in await asyncio.to_thread(_files, folder)] == [
        "call-0001.wav",
        "call-0002.wav",
    ]
    heard = from_wav((folder / "call-0001.wav").read_bytes())
    assert heard.tolist() == joined([TONE, WORDS]).tolist()
    assert played.count == 2


async def test_a_folder_is_continued_after_a_restart(tmp_path: Path) -> None:
    await FolderPlayer(tmp_path).play(parts(TONE), Played())
    await FolderPlayer(tmp_path).play(parts(WORDS), Played())
    kept = [from_wav((tmp_path / f"call-000{n}.wav").read_bytes()).tolist() for n in (1, 2)]
    assert kept == [TONE.tolist(), WORDS.tolist()]


async def test_only_the_last_files_are_kept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(FolderPlayer, "KEPT", 2)
    player = FolderPlayer(tmp_path)
    for _ in range(4):
        await player.play(parts(TONE), Played())
    names = [path.name for path in await asyncio.to_thread(_files, tmp_path)]
    assert names == ["call-0003.wav", "call-0004.wav"]


async def test_an_insistent_utterance_fills_its_file_and_no_more(tmp_path: Path) -> None:
    await FolderPlayer(tmp_path).play(endless(silence(3.0)), Played())
    heard = from_wav((tmp_path / "call-0001.wav").read_bytes())
    assert FolderPlayer.LONGEST_S <= seconds_of(heard) < FolderPlayer.LONGEST_S + 3.0


async def test_a_folder_that_cannot_be_used_says_what_to_do(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(PlayerError, match=r"correct \[loudspeaker\] folder"):
        await FolderPlayer(tmp_path / "file" / "folder").check()


def _files(folder: Path) -> list[Path]:
    return sorted(folder.iterdir())
