"""Keeps one probe connected: tries, waits, and tries again, for ever."""

from __future__ import annotations

import asyncio

from bleak.backends.device import BLEDevice

from pullcall.back_off import BackOff
from pullcall.sources.bluetooth.attempt import (
    Attempt,
    LinkEndedError,
    NothingToReadError,
    Shared,
)
from pullcall.sources.layout import Layout
from pullcall.sources.link import Link

#: Between tries of a device that has nothing to read: it may be updated, or be the wrong one.
_NOTHING_TO_READ_S = 30.0
#: Between tries of a probe that is not heard, at most.
_LONGEST_UNHEARD_S = 240.0


class Keeper:
    """Connects, subscribes, watches the age of data, and starts again, for ever."""

    def __init__(self, link: Link, layout: Layout | None, shared: Shared) -> None:
        self.link = link
        self.layout = layout
        self._shared = shared
        self._device: BLEDevice | None = None
        self._heard = asyncio.Event()
        self._was_unpaired = False
        self._unheard_s = shared.timings.unheard_s
        timings = shared.timings
        self._back_off = BackOff(timings.back_off_s, timings.jitter, shared.random)

    def hears(self, device: BLEDevice) -> None:
        """Take the device of the latest advert (or of an orphan link)."""
        self._device = device
        self._heard.set()

    async def run(self) -> None:
        """Keep the link until cancelled."""
        while True:
            device = await self._reachable()
            attempt = Attempt(device, self.link, self.layout, self._shared, self._heard)
            try:
                await attempt.run()
            except LinkEndedError as ended:
                self.link.has_dropped(str(ended), gave_up=ended.silent)
            except NothingToReadError as error:
                await attempt.closed()
                await self._rediscover(attempt, str(error))
                continue
            await attempt.closed()
            if attempt.has_streamed:
                self._back_off.reset()
            await self._sleep(self._back_off.next())

    async def _reachable(self) -> BLEDevice:
        """Wait for an advert newer than the last try, and take its device."""
        if not self._heard.is_set():
            self.link.is_sought()
        # Adverts can be missed, or held back: it is tried now and then all the same, less and
        # less often, for a connect to an absent probe keeps the others waiting.
        may_try = self._device is not None
        try:
            async with asyncio.timeout(self._unheard_s if may_try else None):
                await self._heard.wait()
            self._unheard_s = self._shared.timings.unheard_s
        except TimeoutError:
            self._unheard_s = min(2 * self._unheard_s, _LONGEST_UNHEARD_S)
        assert self._device is not None
        return self._device

    async def _rediscover(self, attempt: Attempt, reason: str) -> None:
        """Forget what the service remembers of the device, once; then say what it has."""
        if self._was_unpaired:
            self.link.has_dropped(reason)
            await self._sleep(_NOTHING_TO_READ_S)
            return
        self.link.has_dropped(f"{reason}; looking again")
        self._was_unpaired = True
        # Forgotten, so that only a new advert makes it known again.
        self._device = None
        self._heard.clear()
        await attempt.unpair()

    async def _sleep(self, seconds: float) -> None:
        life = self._shared.life
        await life.sleep_until(life.monotonic() + seconds)
