"""A tone every five seconds while everything else still starts."""

from __future__ import annotations

import asyncio
import logging
import threading
from collections.abc import AsyncGenerator, Iterator
from contextlib import contextmanager

from pullcall.clock import RealClock
from pullcall.outlets.player import Player, PlayerError
from pullcall.outlets.tones import burst_tone, pitches
from pullcall.outlets.wav import Samples

_log = logging.getLogger(__name__)

#: As often as the site itself sounds a pull that nobody answers, seconds.
_EVERY_S = 5.0
#: No start waits longer than this for a tone to end, seconds.
_LONGEST_S = 5.0
_MOST_URGENT = 1


@contextmanager
def first_sound(player: Player, steaks: tuple[str, ...], order: tuple[str, ...]) -> Iterator[None]:
    """Sound the pull of ``steaks`` again and again in a thread beside the block, which it does not
    outlast by much: the loudspeaker then has the player to itself. ``order`` is that of the
    cook."""
    tone = burst_tone(_MOST_URGENT, pitches(steaks, order))
    over = threading.Event()
    thread = threading.Thread(
        target=_sound, args=(player, tone, over), name="first sound", daemon=True
    )
    thread.start()
    try:
        yield
    finally:
        over.set()
        thread.join(_LONGEST_S)


def _sound(player: Player, tone: Samples, over: threading.Event) -> None:
    """The rhythm goes by beginnings; one that fails is tried again at the next."""
    clock = RealClock()
    while not over.is_set():
        began = clock.monotonic()
        try:
            asyncio.run(player.play(_only(tone), lambda: None))
        except PlayerError as error:  # the loudspeaker tries, and tells, by itself
            _log.debug("no first sound: %s", error)
        over.wait(max(0.0, _EVERY_S - (clock.monotonic() - began)))


async def _only(tone: Samples) -> AsyncGenerator[Samples]:
    yield tone
