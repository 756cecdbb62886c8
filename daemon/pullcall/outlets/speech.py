"""Words as sound, rendered ahead with espeak-ng where it is installed."""

from __future__ import annotations

import asyncio
import logging
import re
import shutil
from collections import OrderedDict
from collections.abc import Sequence

from pullcall.command import run_command
from pullcall.errors import ConfigError
from pullcall.outlets.wav import Samples, from_wav, joined

_log = logging.getLogger(__name__)

PROGRAM = "espeak-ng"
#: What to do where there are tones but no words.
NO_PROGRAM = "Tones only, no words: install espeak-ng (on Debian: apt install espeak-ng)."
#: No call waits longer than this for its words, seconds.
PATIENCE_S = 0.5
#: Between the words of two calls of one burst, seconds.
BETWEEN_S = 0.2
#: Words a minute: a little slower than usual, to be heard over a fire and a crowd.
_PACE = "160"
#: A render takes a tenth of a second; one that takes this long is stuck, seconds.
_STUCK_S = 5.0
#: After a text could not be rendered ahead, none is tried ahead for this long, seconds.
_AGAIN_S = 5.0
#: Texts kept rendered (about 100 kB each), and texts waiting to be rendered.
_KEPT, _WAITING = 96, 32
#: More than any call says; a longer text is cut.
_LONGEST = 200
_VOICE = re.compile(r"[A-Za-z][A-Za-z0-9+-]{0,39}")
#: Brackets would be read as phonemes, control characters as the end of a line.
_UNSPEAKABLE = re.compile(r"[\x00-\x1f\x7f\[\]<>]+")


class Speech:
    """Renders texts, one at a time, and keeps the last ones.

    Texts hold names that people typed: they reach the program on standard input only, never as
    arguments. ``note`` says what to do while words cannot be rendered. Raises ConfigError for a
    voice that cannot be the name of one.
    """

    def __init__(self, voice: str = "en", program: str = PROGRAM) -> None:
        if not _VOICE.fullmatch(voice):
            raise ConfigError(
                f'{voice!r} is not the name of a voice: give [loudspeaker] voice such as "en-us".'
            )
        self.note = "" if shutil.which(program) else NO_PROGRAM
        self.voice = voice
        self._options = ("-v", voice, "-s", _PACE, "-z", "-b", "1", "--stdin", "--stdout")
        self._program = program
        self._kept: OrderedDict[str, Samples] = OrderedDict()
        self._waiting: OrderedDict[str, None] = OrderedDict()
        self._some = asyncio.Event()
        self._turn = asyncio.Lock()

    def prepare(self, texts: Sequence[str]) -> None:
        """Render these soon; more than a few dozen push the oldest ones out."""
        for text in map(spoken, texts):
            if text not in self._kept:
                self._waiting[text] = None
                self._waiting.move_to_end(text)
        while len(self._waiting) > _WAITING:
            self._waiting.popitem(last=False)
        if self._waiting:
            self._some.set()

    def can_say(self, text: str) -> bool:
        """Whether the words of ``text`` are there, or can be expected to be rendered."""
        return not self.note or spoken(text) in self._kept

    async def run(self) -> None:
        """Render what was prepared, one text after another, until cancelled."""
        while True:
            await self._some.wait()
            if not self._waiting:
                self._some.clear()
                continue
            text, _ = self._waiting.popitem(last=False)
            if not await self._is_rendered(text):
                self._waiting.clear()
                await asyncio.sleep(_AGAIN_S)

    async def _is_rendered(self, text: str) -> bool:
        """Render one text; a fault here must not end what else runs."""
        try:
            return await self._rendered(text) is not None
        except Exception:
            _log.exception("words could not be rendered ahead")
            return False

    async def words(self, texts: Sequence[str]) -> Samples | None:
        """The words of ``texts`` in order; None where they cannot be had."""
        parts = [await self._rendered(spoken(text)) for text in texts]
        return joined([p for p in parts if p is not None], BETWEEN_S) if all_there(parts) else None

    async def _rendered(self, text: str) -> Samples | None:
        """One program runs at a time: what a dozen phones ask for at once is rendered once."""
        if text not in self._kept:
            async with self._turn:
                if text not in self._kept and (samples := await self._render(text)) is not None:
                    self._keep(text, samples)
        if text in self._kept:
            self._kept.move_to_end(text)
        return self._kept.get(text)

    def _keep(self, text: str, samples: Samples) -> None:
        self._kept[text] = samples
        while len(self._kept) > _KEPT:
            self._kept.popitem(last=False)

    async def _render(self, text: str) -> Samples | None:
        program = shutil.which(self._program)
        if program is None:
            self.note = NO_PROGRAM
            return None
        try:
            async with asyncio.timeout(_STUCK_S):
                ended = await run_command((program, *self._options), text.encode())
            samples = from_wav(ended.output)
        except (OSError, ValueError, TimeoutError) as error:
            _log.debug("no words for a call: %r", error)
            self.note = (
                f'Tones only, no words: {self._program} failed with voice "{self.voice}", '
                f"check [loudspeaker] voice."
            )
            return None
        self.note = ""
        return samples


def spoken(text: str) -> str:
    """A text as it is handed to the program: one line, nothing that is not words."""
    return " ".join(_UNSPEAKABLE.sub(" ", text).split())[:_LONGEST]


def all_there(parts: Sequence[Samples | None]) -> bool:
    """Whether every part could be rendered: half an utterance could mislead."""
    return bool(parts) and all(part is not None for part in parts)
