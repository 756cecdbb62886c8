"""Makes sounds with a command of the machine."""

from __future__ import annotations

import asyncio
import os
import shutil
import tempfile
from collections.abc import AsyncGenerator, Callable, Sequence
from typing import Protocol

from pullcall.command import run_command
from pullcall.errors import PullcallError
from pullcall.outlets.wav import Samples, seconds_of, silence, to_wav

#: Commands that play a WAV file, in the order in which they are tried.
USUAL_COMMANDS = (("pw-play",), ("paplay",), ("aplay", "-q"))
NO_COMMAND = (
    "No command that plays sound was found: install pipewire-bin, pulseaudio-utils or alsa-utils, "
    "or name one in [loudspeaker] player."
)
#: A command may take this much longer than its sound lasts before it is stuck, seconds: a sound
#: server that wakes its device was seen to take nearly two.
_SLACK_S = 3.0
_MEMORY = "/dev/shm"
#: Inaudible, but the command must open the device for it, seconds.
_CHECK_S = 0.1


class PlayerError(PullcallError):
    """A sound could not be played."""


class Player(Protocol):
    """Makes one utterance at a time heard."""

    async def check(self) -> None:
        """Find out, without being heard, whether it can play. Raises PlayerError."""

    async def play(self, parts: AsyncGenerator[Samples], played: Callable[[], None]) -> None:
        """Play the parts one after another; call ``played`` once, after the first.

        Cancelling stops the sound at once. Raises PlayerError.
        """


class CommandPlayer:
    """Plays each part with a command, to which the name of a WAV file is added.

    Without a configured ``command`` the usual ones are tried in order and the first that can
    play silence is kept, until it fails. A command that takes ``slack_s`` seconds longer than its
    sound lasts is ended.
    """

    def __init__(self, command: Sequence[str] = (), slack_s: float = _SLACK_S) -> None:
        self._candidates = (tuple(command),) if command else USUAL_COMMANDS
        self._slack_s = slack_s
        self._chosen: tuple[str, ...] | None = None

    async def check(self) -> None:
        """Play a tenth of a second of silence with the first command that can."""
        faults: list[str] = []
        for command in self._candidates:
            if shutil.which(command[0]) is None:
                continue
            try:
                await self._run(command, silence(_CHECK_S))
            except PlayerError as error:
                faults.append(str(error))
            else:
                self._chosen = command
                return
        self._chosen = None
        raise PlayerError(faults[-1] if faults else self._missing())

    async def play(self, parts: AsyncGenerator[Samples], played: Callable[[], None]) -> None:
        """Play with the command that passed the last check (else look for one first)."""
        if self._chosen is None:
            await self.check()
        command = self._chosen
        assert command is not None
        is_first = True
        try:
            async for samples in parts:
                await self._run(command, samples)
                if is_first:
                    played()
                is_first = False
        except PlayerError:
            self._chosen = None
            raise

    async def _run(self, command: Sequence[str], samples: Samples) -> None:
        try:
            with tempfile.NamedTemporaryFile(suffix=".wav", dir=_memory_folder()) as file:
                file.write(to_wav(samples))
                file.flush()
                async with asyncio.timeout(seconds_of(samples) + self._slack_s):
                    ended = await run_command((*command, file.name))
        except TimeoutError as exc:
            raise PlayerError(
                f"{command[0]} did not end in time: check that the loudspeaker is free."
            ) from exc
        except OSError as exc:
            raise PlayerError(
                f"{command[0]} cannot be run ({exc.strerror}): correct [loudspeaker] player."
            ) from exc
        if ended.code != 0:
            words = f" ({ended.complaint})" if ended.complaint else ""
            raise PlayerError(
                f"{command[0]} ended with code {ended.code}{words}: check the loudspeaker and "
                f"[loudspeaker] player."
            )

    def _missing(self) -> str:
        if self._candidates is USUAL_COMMANDS:
            return NO_COMMAND
        name = self._candidates[0][0]
        return f"{name} was not found: install it or correct [loudspeaker] player."


def _memory_folder() -> str | None:
    """Where files are kept in memory, so that a full disk silences nothing."""
    return _MEMORY if os.access(_MEMORY, os.W_OK) else None
