"""The board for those who are shown less: some minutes late, without targets, or one site only."""

from __future__ import annotations

import json
import zlib
from collections import deque
from dataclasses import dataclass
from typing import Any

from pullcall.access.records import Sight
from pullcall.api.board.glance import Glance
from pullcall.api.board.strip import stripped
from pullcall.api.sight.feed import hello
from pullcall.clock import Clock
from pullcall.errors import RefusedError
from pullcall.log.records import to_line
from pullcall.site.hub import Follower, Hub, Listener, Page

Json = dict[str, Any]

#: How often the board is looked at, seconds; for who is minutes late, a few seconds are nothing,
#: and what is held back stays small.
_EVERY_S, _EVERY_LATE_S = 1.0, 5.0
_TICK_S = 1.0
#: Messages kept for a page that comes back: a minute of them, or five for who is late.
_KEPT = 60


@dataclass(frozen=True, slots=True)
class _Held:
    """The board as it will be shown from ``due`` on, packed."""

    due: float
    packed: bytes


class WatchedBoard:
    """A feed of its own numbers: gaps would tell of messages that are left out.

    Until the delay has passed since it began there is nothing to show: pages get ticks. What is
    held back is one board each five seconds, packed, so at most 120 of them.
    """

    def __init__(self, glance: Glance, sight: Sight, only: str | None, clock: Clock) -> None:
        self._glance = glance
        self._sight = sight
        self._only = only
        self._clock = clock
        self._hub = Hub(_KEPT)
        self._held: deque[_Held] = deque()
        self._look_at = float("-inf")
        self._shown: Json | None = None
        self._glanced: Json | None = None  # what is shown was made of it
        self._rest: str | None = None  # of the message of what is shown, all but its time

    @property
    def epoch(self) -> str:
        """The run of numbers that is shown."""
        return self._hub.epoch

    @property
    def count(self) -> int:
        """How many pages listen."""
        return self._hub.count

    def now(self) -> float:
        """The board's clock as it is shown, seconds."""
        return self._glance.now() - self._sight.delay_s

    def join(self) -> Listener:
        """A new listener, from now on."""
        return self._hub.join()

    def follow(self) -> Follower:
        """A new follower, from now on."""
        return self._hub.follow()

    def leave(self, page: Page) -> None:
        """Forget a page."""
        self._hub.leave(page)

    def close(self) -> None:
        """Let every page go."""
        self._hub.close()

    def snapshot(self) -> str:
        """The ``board`` message as it is shown. Raises RefusedError while there is none."""
        shown = self._now_shown()
        if self._rest is None:
            self._rest = to_line({"epoch": self.epoch, "seq": self._hub.seq, **shown})[1:]
        return f'{{"type":"board","t":{self._t()},{self._rest}'

    def row(self, site: str) -> Json | None:
        """The row of a site as it is shown; None where none is. Raises as :meth:`snapshot`."""
        return next((row for row in self._now_shown()["rows"] if row["site"] == site), None)

    def _now_shown(self) -> Json:
        self._catch_up()
        if self._shown is None:
            minutes = self._sight.delay_s / 60.0
            raise RefusedError(f"Shown {minutes:g} min late: wait, it begins by itself.")
        return self._shown

    def _catch_up(self) -> None:
        """Who is not late is shown the board as it is now, worked out once for all who ask."""
        if not self._sight.delay_s and self._glance.board() is not self._glanced:
            self._show(self._seen())

    def greeting(self, epoch: str | None, since: int | None) -> list[str]:
        """Hello, then what was missed after ``since``, or the board."""
        self._catch_up()
        if self._shown is None:
            return [hello("", 0, self.now(), 1.0, resumed=False)]
        missed = self._hub.missed(epoch, since)
        rest = [self.snapshot()] if missed is None else missed
        is_resumed = missed is not None
        return [hello(self.epoch, self._hub.seq, self.now(), 1.0, resumed=is_resumed), *rest]

    async def run(self) -> None:
        """Look, hold back and show until cancelled."""
        while True:
            self.step()
            await self._clock.sleep_until(self._clock.monotonic() + _TICK_S)

    def step(self) -> None:
        """What is done each second."""
        now = self._clock.monotonic()
        if now >= self._look_at:
            self._look_at = now + (_EVERY_LATE_S if self._sight.delay_s else _EVERY_S)
            self._held.append(_Held(now + self._sight.delay_s, _packed(self._seen())))
        while self._held and self._held[0].due <= now:
            self._show(_unpacked(self._held.popleft().packed))
        self._hub.whisper("tick", {"t": self._t()})

    def _seen(self) -> Json:
        """The board as it is now, without what is not for this sight."""
        self._glanced = board = self._glance.board()
        rows = board["rows"]
        if self._only is not None:
            rows = [row for row in rows if row["site"] == self._only]
        if self._sight.hides_targets:
            rows = stripped(rows, board["t"])
        return {"unit": board["unit"], "broker": board["broker"], "rows": rows}

    def _show(self, seen: Json) -> None:
        """From now on this is what pages see; they are told what is new in it."""
        before, self._shown, self._rest = self._shown, seen, None
        if before is None or before["broker"] != seen["broker"]:
            self._hub.publish("board", {"epoch": self.epoch, "t": self._t(), **seen})
        elif before["rows"] != seen["rows"]:
            was = {row["site"]: row for row in before["rows"]}
            rows = [row for row in seen["rows"] if row != was.get(row["site"])]
            order = [row["site"] for row in seen["rows"]]
            self._hub.publish("rows", {"t": self._t(), "rows": rows, "order": order})

    def _t(self) -> float:
        return round(self.now(), 3)


def _packed(seen: Json) -> bytes:
    return zlib.compress(to_line(seen).encode(), 1)


def _unpacked(packed: bytes) -> Json:
    seen: Json = json.loads(zlib.decompress(packed))
    return seen
