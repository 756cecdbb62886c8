"""One tone while everything else still starts."""

from __future__ import annotations

import asyncio
import logging
import threading
from collections.abc import AsyncGenerator, Iterator
from contextlib import contextmanager

from pullcall.outlets.player import Player, PlayerError
from pullcall.outlets.tones import burst_tone, pitches
from pullcall.outlets.wav import Samples

_log = logging.getLogger(__name__)

#: No start waits longer than this for the tone to end, seconds.
_LONGEST_S = 5.0
_MOST_URGENT = 1


@contextmanager
def first_sound(player: Player, steaks: tuple[str, ...], order: tuple[str, ...]) -> Iterator[None]:
    """Sound the pull of ``steaks`` in a thread beside the block, which it does not outlast by
    much: the loudspeaker then has the player to itself. ``order`` is that of the cook."""
    tone = burst_tone(_MOST_URGENT, pitches(steaks, order))
    thread = threading.Thread(target=_sound, args=(player, tone), name="first sound", daemon=True)
    thread.start()
    try:
        yield
    finally:
        thread.join(_LONGEST_S)


def _sound(player: Player, tone: Samples) -> None:
    try:
        asyncio.run(player.play(_only(tone), lambda: None))
    except PlayerError as error:  # the loudspeaker tries, and tells, by itself
        _log.debug("no first sound: %s", error)


async def _only(tone: Samples) -> AsyncGenerator[Samples]:
    yield tone
