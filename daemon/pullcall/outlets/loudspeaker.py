"""The loudspeaker of the daemon's machine: a tone at once, then the words."""

from __future__ import annotations

import asyncio
import contextlib
import logging
from collections.abc import AsyncGenerator, Awaitable, Callable, Sequence

from pullcall.back_off import BackOff
from pullcall.clock import Clock
from pullcall.outlets.floor import Floor
from pullcall.outlets.outlet import (
    Burst,
    OutletKind,
    OutletState,
    OutletStatus,
    Report,
    Reports,
    texts_of,
    urgency_of,
)
from pullcall.outlets.player import Player, PlayerError
from pullcall.outlets.speech import PATIENCE_S, Speech
from pullcall.outlets.tones import burst_tone, insistent_tone, pitches
from pullcall.outlets.wav import Samples, joined, silence

_log = logging.getLogger(__name__)

#: How much of an insistent tone is played as one part: longer parts have fewer seams, seconds.
_INSIST_S = 20.0
#: Between the tone and the words, so that the first word is not lost in the tone, seconds.
_BREATH_S = 0.15
_CUT_IN = "a more urgent call cut in"
_STALE = "waited too long while another call sounded"
_FULL = "too many calls at once"


class Loudspeaker:
    """One voice at a time on one player.

    A call counts as played once its tone has sounded in full. While the player fails, every call
    is tried all the same, and between calls the player is checked ever less often until it works.
    At most a few bursts wait: the oldest of the least urgent is dropped, and one that has waited
    too long is not sounded any more; both are reported as failed.
    """

    name = "loudspeaker"
    kind = OutletKind.LOUDSPEAKER

    def __init__(self, player: Player, speech: Speech, clock: Clock) -> None:
        self._player = player
        self._speech = speech
        self._clock = clock
        self._floor = Floor()
        self._steaks: tuple[str, ...] = ()
        self._report: Reports = _nobody
        self._changed = asyncio.Event()
        self._sounding: asyncio.Task[None] | None = None
        self._told = False
        self._state = OutletState.OFF
        self._note = "The loudspeaker is being checked."
        self._last_played: float | None = None
        self._back_off = BackOff()

    def begin_cook(self, steaks: Sequence[str]) -> None:
        """The first steak sounds lower, the second higher."""
        self._steaks = tuple(steaks)

    def announce(self, burst: Burst) -> None:
        """Sound it next, or now if it is more urgent than what sounds."""
        if not burst:
            return
        for dropped in self._floor.add(burst, self._clock.monotonic()):
            self._tell(dropped, False, _FULL)
        self._wake()

    def silence(self, call_id: str) -> None:
        """Its tone no longer goes on; words under way are ended."""
        self._floor.silence(call_id)
        self._wake()

    def status(self) -> OutletStatus:
        """Ok once it has played, if only silence; without words, the note says what to do."""
        note = self._note or self._speech.note
        return OutletStatus(self.name, self.kind, self._state, note, self._last_played)

    async def run(self, report: Reports) -> None:
        """Sound what is announced until cancelled."""
        self._report = report
        await self._check()
        while True:
            await self._next()

    async def _next(self) -> None:
        """Sound one burst, or wait for one."""
        self._changed.clear()
        burst, stale = self._floor.take(self._clock.monotonic())
        for late in stale:
            self._tell(late, False, _STALE)
        if burst is None:
            await self._idle()
        else:
            await self._sound(burst)

    async def _idle(self) -> None:
        """Wait for a burst; while the player fails, try it now and then."""
        retry = asyncio.create_task(self._retry(), name="loudspeaker check")
        wake = asyncio.create_task(self._changed.wait())
        try:
            await asyncio.wait({retry, wake}, return_when=asyncio.FIRST_COMPLETED)
        finally:
            wake.cancel()
            retry.cancel()
            await asyncio.wait({retry})
        if not retry.cancelled() and (error := retry.exception()) is not None:
            raise error

    async def _retry(self) -> None:
        """Check the player until it works, then for ever leave it alone."""
        while self._state is OutletState.FAILING:
            await self._clock.sleep_until(self._clock.monotonic() + self._back_off.next())
            await self._check()
        await asyncio.Event().wait()

    async def _check(self) -> None:
        try:
            await self._player.check()
        except PlayerError as error:
            self._fail(str(error))
        else:
            self._succeed()

    async def _sound(self, burst: Burst) -> None:
        """Play one burst to its end, or until it must yield; report it once."""
        self._floor.begin(burst)
        self._told = False
        task = asyncio.create_task(self._play(burst), name="utterance")
        self._sounding = task
        try:
            await asyncio.wait({task})
        finally:
            self._sounding = None
            self._floor.end()
            task.cancel()
            await asyncio.wait({task})
        if task.cancelled():
            self._tell_once(burst, False, _CUT_IN)
        elif (error := task.exception()) is not None:
            raise error

    async def _play(self, burst: Burst) -> None:
        """Play and report; a player's failure is a report, not an error."""

        def played() -> None:
            self._succeed()
            self._last_played = self._clock.monotonic()
            self._tell_once(burst, True)

        try:
            async with contextlib.aclosing(self._parts(burst)) as parts:
                await self._player.play(parts, played)
        except PlayerError as error:
            self._fail(str(error))
            self._tell_once(burst, False, str(error))

    async def _parts(self, burst: Burst) -> AsyncGenerator[Samples]:
        """The tone, the words, and while a call insists, the tone again and again."""
        priority = urgency_of(burst)
        urgent = tuple(call for call in burst if call.priority == priority)
        lesser = tuple(call for call in burst if call.priority != priority)
        steaks = [steak for call in urgent for steak in call.steaks]
        hertz = pitches(steaks, self._steaks)
        async with self._words(urgent) as words:
            yield burst_tone(priority, hertz)
            if (said := await words()) is not None:
                yield said
        self._floor.said_urgent_words()
        async with self._words(lesser) as words:
            if not self._floor.must_yield and (said := await words()) is not None:
                yield said
        self._floor.said_words()
        while self._floor.insists and not self._floor.must_yield:
            yield insistent_tone(priority, hertz, _INSIST_S)

    @contextlib.asynccontextmanager
    async def _words(self, calls: Burst) -> AsyncGenerator[Callable[[], Awaitable[Samples | None]]]:
        """Renders the calls' words from now on; what it gives waits for them, but not long."""
        texts = texts_of(calls)
        rendering = asyncio.create_task(self._speech.words(texts), name="words")

        async def words() -> Samples | None:
            await asyncio.wait({rendering}, timeout=PATIENCE_S)
            if not rendering.done():
                self._speech.prepare(texts)
                return None
            said = rendering.result()
            return None if said is None else joined([silence(_BREATH_S), said])

        try:
            yield words
        finally:
            rendering.cancel()
            await asyncio.wait({rendering})

    def _wake(self) -> None:
        """Something changed: what sounds may have to stop, what waits may start."""
        self._changed.set()
        if self._sounding is not None and self._floor.must_yield:
            self._sounding.cancel()
            self._sounding = None

    def _succeed(self) -> None:
        if self._state is OutletState.FAILING:
            _log.info("the loudspeaker plays again")
        self._state, self._note = OutletState.OK, ""
        self._back_off.reset()

    def _fail(self, note: str) -> None:
        if self._state is not OutletState.FAILING:
            _log.warning("loudspeaker: %s", note)
        self._state, self._note = OutletState.FAILING, note

    def _tell_once(self, burst: Burst, played: bool, note: str = "") -> None:
        """The first thing known of the burst that sounds is what is told of it."""
        if not self._told:
            self._told = True
            self._tell(burst, played, note)

    def _tell(self, burst: Burst, played: bool, note: str = "") -> None:
        for call in burst:
            self._report(Report(call, self.name, played, self._clock.monotonic(), note))


def _nobody(report: Report) -> None:
    """Before the outlet runs, reports reach nobody."""
