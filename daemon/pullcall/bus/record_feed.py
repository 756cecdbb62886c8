"""Publishes the cook log, record by record, from where the broker has it."""

from __future__ import annotations

import asyncio
import logging
from pathlib import Path

from pullcall.bus.cook_clock import CookClock
from pullcall.bus.following import NOTHING, Following
from pullcall.bus.payloads import LARGEST
from pullcall.bus.position_file import PositionFile, position_beside
from pullcall.bus.publisher import Send
from pullcall.bus.record_reader import Lines, RecordReader
from pullcall.clock import Clock

_log = logging.getLogger(__name__)

#: Records on their way without a confirmation: with state and calls fewer than the twenty that
#: brokers usually take, so that none of those waits behind records.
_WINDOW = 12
#: No faster than this, seconds for each window: some five hundred records a second.
_PACE_S = 0.025
#: The log is read this often though no message says that it grew, and the position kept, seconds.
_BEAT_S = 1.0
#: After a message, more are waited for, seconds.
_GATHER_S = 0.1


class RecordFeed:
    """One site's log.

    ``waiting`` is how many records the broker does not have yet, as last counted; ``too_large``
    how many it does not get, for no reader would take them.
    """

    def __init__(self, site: str, log: Path, to: str, clock: Clock) -> None:
        self.waiting = self.too_large = 0
        self._reader = RecordReader(log)
        self._file = PositionFile(position_beside(log), to)
        self._following = Following(site, self._file.load())
        self._kept = self.positions()
        self._checked: set[str] = set()
        self._clock = clock
        self._poked = asyncio.Event()

    def runs(self, cook: str, clock: CookClock) -> None:
        """This cook runs; its log may have grown."""
        self._following.runs(cook, clock)
        self._poked.set()

    def positions(self) -> dict[str, int]:
        """The last record that the broker has, of each cook that is followed."""
        return dict(self._following.positions)

    @property
    def trouble(self) -> str:
        """What to do where the log cannot be read; empty where it can."""
        return self._reader.trouble

    async def keep(self) -> None:
        """Keep the position, and count what is left, for ever."""
        while True:
            await self.count()
            await self.keep_position()
            await asyncio.sleep(_BEAT_S)

    async def count(self) -> None:
        """Count what is left. Of a log that cannot be read the last count stays."""
        waiting = await self._reader.count(self._following.positions)
        if waiting is not None:
            self.waiting = waiting

    async def keep_position(self) -> None:
        """Write the position down, where it is not as it was last written."""
        positions = self.positions()
        if positions != self._kept and await self._reader.run(lambda: self._file.save(positions)):
            self._kept = positions

    async def publish(self, send: Send) -> None:
        """Publish for ever what the log has; a record is done with once ``send`` returns."""
        while True:
            self._poked.clear()
            for cook in self._following.cooks():
                if await self._publish_some(cook, send):
                    break  # the cook that runs goes first, each time
            else:
                await self._wait()

    async def _wait(self) -> None:
        try:
            async with asyncio.timeout(_BEAT_S):
                await self._poked.wait()
                await asyncio.sleep(_GATHER_S)
        except TimeoutError:
            pass

    async def _publish_some(self, cook: str, send: Send) -> bool:
        """Publish one window of a cook's records; False where there are none."""
        await self._check(cook)
        lines = await self._reader.lines(cook, self._following.positions[cook], _WINDOW)
        if not lines:
            if lines is not None:
                self._following.caught_up(cook)
            return False
        began = self._clock.monotonic()
        await self._send_all(cook, [line for line in lines if _is_taken(line[1])], send)
        self._pass_over([line for line in lines if not _is_taken(line[1])])
        self._following.confirmed(cook, lines[-1][0])
        await self._clock.sleep_until(began + _PACE_S)
        return True

    async def _send_all(self, cook: str, lines: Lines, send: Send) -> None:
        now, wall = self._clock.monotonic(), self._clock.wall()
        sent = [
            self._following.publication(cook, number, line, now, wall) for number, line in lines
        ]
        await asyncio.gather(*(send(publication) for publication in sent))

    def _pass_over(self, lines: Lines) -> None:
        if lines and not self.too_large:
            _log.warning("A record of more than %d KiB is not published.", LARGEST // 1024)
        self.too_large += len(lines)

    async def _check(self, cook: str) -> None:
        """Where the log has no such record (an older backup was restored), begin anew."""
        if cook in self._checked:
            return
        number = self._following.positions[cook]
        lines = await self._reader.lines(cook, number - 1, 1)
        if lines is None:
            return
        self._checked.add(cook)
        if number != NOTHING and (not lines or lines[0][0] != number):
            self._following.confirmed(cook, NOTHING)


def _is_taken(line: str) -> bool:
    """Whether a reader takes such a record; many a broker would hang up over a larger one."""
    return len(line.encode()) <= LARGEST
