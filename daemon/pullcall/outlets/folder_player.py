"""Writes what would be heard into files."""

from __future__ import annotations

from collections.abc import AsyncGenerator, Callable
from pathlib import Path

from pullcall.outlets.player import PlayerError
from pullcall.outlets.wav import Samples, joined, seconds_of, to_wav


class FolderPlayer:
    """Writes each utterance as one numbered WAV file: for tests, and where no speaker is.

    Writing takes no time, so an insistent utterance is cut where its file is ``LONGEST_S`` long.
    The last ``KEPT`` files stay. It stands in for a loudspeaker and counts as one.
    """

    LONGEST_S = 20.0
    #: Files kept; past it the oldest goes.
    KEPT = 300

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._number = 0

    async def check(self) -> None:
        """Make the folder where it is missing, and go on after the highest number there."""
        try:
            self._folder.mkdir(parents=True, exist_ok=True)
            stems = [path.stem for path in self._folder.glob("call-*.wav")]
        except OSError as exc:
            raise PlayerError(
                f"Cannot use the folder {self._folder} ({exc.strerror}): correct "
                f"[loudspeaker] folder."
            ) from exc
        numbers = [int(stem[5:]) for stem in stems if stem[5:].isdecimal()]
        self._number = max([self._number, *numbers])

    async def play(self, parts: AsyncGenerator[Samples], played: Callable[[], None]) -> None:
        """Write ``call-0001.wav`` and so on; a file appears whole or not at all."""
        await self.check()
        sound: list[Samples] = []
        async for samples in parts:
            sound.append(samples)
            if sum(map(seconds_of, sound)) >= self.LONGEST_S:
                break
        self._number += 1
        path = self._path(self._number)
        part = path.with_suffix(".part")
        try:
            part.write_bytes(to_wav(joined(sound)))
            part.replace(path)
            self._path(self._number - self.KEPT).unlink(missing_ok=True)
        except OSError as exc:
            raise PlayerError(
                f"Cannot write {path} ({exc.strerror}): free some space or correct "
                f"[loudspeaker] folder."
            ) from exc
        played()

    def _path(self, number: int) -> Path:
        return self._folder / f"call-{number:04d}.wav"
