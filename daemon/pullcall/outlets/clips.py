"""The words of calls as WAV files for the phones: only what was announced or is scheduled."""

from __future__ import annotations

import asyncio
import hashlib
from collections import OrderedDict

from pullcall.errors import UnknownNameError
from pullcall.outlets.speech import Speech, spoken
from pullcall.outlets.wav import to_wav

#: Texts that can be had; past it the one offered longest ago is forgotten. A page shows about
#: twenty calls, and a cook of two steaks has ten coming.
_OFFERED = 64
#: A phone waits no longer for words: by then the tone they follow is over, seconds.
_PATIENCE_S = 1.0
_LATE = "The words are not rendered yet: ask again."


class Clips:
    """Gives a text an id, and to whoever knows the id the sound of its words.

    An id is made from the text and the voice. Nobody can have a text of their own spoken: only
    what the site itself announced or scheduled. Without ``speech`` there are no clips.
    """

    def __init__(self, speech: Speech | None) -> None:
        self._speech = speech
        self._offered: OrderedDict[str, str] = OrderedDict()

    def offer(self, text: str) -> str | None:
        """The id of a text that is announced or scheduled; returns at once, renders soon.

        None while words cannot be rendered.
        """
        if self._speech is None:
            return None
        self._speech.prepare([text])
        if not self._speech.can_say(text):
            return None
        id = _id(text, self._speech.voice)
        self._offered[id] = text
        self._offered.move_to_end(id)
        while len(self._offered) > _OFFERED:
            self._offered.popitem(last=False)
        return id

    async def wav(self, id: str) -> bytes:
        """The words as a WAV file. Raises UnknownNameError where they cannot be had in time."""
        text = self._offered.get(id)
        if text is None or self._speech is None:
            raise UnknownNameError("No call has these words any more: load the page again.")
        try:
            async with asyncio.timeout(_PATIENCE_S):
                words = await self._speech.words([text])
        except TimeoutError:
            self._speech.prepare([text])
            raise UnknownNameError(_LATE) from None
        if words is None:
            raise UnknownNameError(self._speech.note or _LATE)
        return to_wav(words)

    async def run(self) -> None:
        """Render ahead what is offered, until cancelled."""
        if self._speech is not None:
            await self._speech.run()


def _id(text: str, voice: str) -> str:
    return hashlib.sha256(f"{voice}\n{spoken(text)}".encode()).hexdigest()[:16]
