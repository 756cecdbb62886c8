"""A feed for watchers: some minutes late, without targets, or both."""

from __future__ import annotations

import asyncio
import json
from collections import deque
from dataclasses import dataclass, field
from typing import Any

from pullcall.access.records import Sight
from pullcall.api.sight.feed import Shown, hello
from pullcall.api.sight.held import Held, Line
from pullcall.api.sight.strip import stripped
from pullcall.clock import Clock
from pullcall.errors import RefusedError
from pullcall.log.records import to_line
from pullcall.site.hub import Audience, Listener

Json = dict[str, Any]

#: How often everything is noted, for whoever joins later, seconds.
_SNAPSHOT_EVERY_S = 10.0
#: What is not late is noted anew when somebody comes, but not for each who comes, seconds.
_GOOD_FOR_S = 1.0
#: Messages kept for a page that comes back.
_KEPT = 1500


@dataclass(slots=True)
class _Shown:
    """What has been let out: the latest snapshot, and the numbered lines."""

    snapshot: Line | None = None
    seq: int = 0
    lines: deque[Line] = field(default_factory=lambda: deque(maxlen=_KEPT))

    def let_out(self, line: Line) -> None:
        """Remember a numbered line; a snapshot that is no note forgets those before it."""
        if line.type == "snapshot":
            if self.tells_anew(line):
                self.lines.clear()
            self.snapshot = line
        elif line.seq is not None:
            self.lines.append(line)
        self.seq = max(self.seq, line.seq or 0)

    def tells_anew(self, line: Line) -> bool:
        """Whether a snapshot has to be told: nobody who followed so far knows what it says."""
        return not line.is_note or self.snapshot is None or self.snapshot.epoch != line.epoch

    def after(self, seq: int) -> list[str]:
        """The lines after a number."""
        return [line.text for line in self.lines if line.seq is not None and line.seq > seq]

    def reaches(self, seq: int) -> bool:
        """Whether nothing after ``seq`` has been forgotten."""
        oldest = (self.lines[0].seq or 0) if self.lines else self.seq + 1
        return oldest - 1 <= seq <= self.seq


class WatchedFeed(Audience):
    """Holds each message back for ``sight.delay_s`` and strips it if targets are hidden.

    Until that time has passed since the feed began there is nothing to show: pages get ticks. A
    snapshot that the site publishes begins pages anew when it comes due, and so does one after
    messages that this feed itself missed; what it notes every ten seconds is for who joins.

    What is held back is bounded: past 4 MiB of it, packed (the site floods), no message but
    ticks is held, and pages begin anew from the snapshot of every ten seconds, which always is.
    """

    def __init__(self, site: Shown, sight: Sight, clock: Clock, held: Held | None = None) -> None:
        super().__init__()
        self._site = site
        self._sight = sight
        self._clock = clock
        self._held = held or Held()
        self._left_out = False  # messages, since the last snapshot was held
        self._shown = _Shown()
        self._speed = float(site.snapshot()["speed"])
        self._seq = 0  # of its own: gaps would tell of messages that are left out
        self._told: set[str] = set()  # ids of the calls that are shown
        self._noted_epoch = ""
        self._good_until = 0.0  # until then a snapshot that is not late is made for all
        self._ticked: tuple[float, float] | None = None  # the last tick let out, and when

    @property
    def epoch(self) -> str:
        """The run of numbers that is shown."""
        return (self._shown.snapshot and self._shown.snapshot.epoch) or ""

    def now(self) -> float:
        """The cook's clock as watchers see it, seconds."""
        if self._ticked is None:
            return self._site.now() - self._sight.delay_s * self._speed
        t, at = self._ticked
        return t + (self._clock.monotonic() - at) * self._speed

    def snapshot(self) -> str:
        """Everything as it is shown; a late one is up to ten seconds older than its stream.

        Raises RefusedError while there is nothing to show.
        """
        now = self._clock.monotonic()
        if self._sight.delay_s == 0.0 and now >= self._good_until:
            self._let_out(self._everything(is_note=True))
            self._good_until = now + _GOOD_FOR_S
        if self._shown.snapshot is None:
            minutes = self._sight.delay_s / 60.0
            raise RefusedError(f"Shown {minutes:g} min late: wait, it begins by itself.")
        return self._shown.snapshot.text

    def greeting(self, epoch: str | None, since: int | None) -> list[str]:
        """Hello, then the lines after ``since``, or the last snapshot and the lines after it."""
        try:
            snapshot = self.snapshot()
        except RefusedError:
            return [hello("", 0, self.now(), self._speed, resumed=False)]
        if epoch == self.epoch and since is not None and self._shown.reaches(since):
            missed = self._shown.after(since)
            return [self._hello(self._shown.seq, resumed=True), *missed]
        seq = (self._shown.snapshot and self._shown.snapshot.seq) or 0
        return [self._hello(seq, resumed=False), snapshot, *self._shown.after(seq)]

    def _hello(self, seq: int, *, resumed: bool) -> str:
        return hello(self.epoch, seq, self.now(), self._speed, resumed=resumed)

    async def run(self) -> None:
        """Take in, hold back and let out until cancelled."""
        async with asyncio.TaskGroup() as tasks:
            tasks.create_task(self._take_in(), name="watched feed: in")
            tasks.create_task(self._note_snapshots(), name="watched feed: snapshots")
            tasks.create_task(self._release(), name="watched feed: out")

    async def _take_in(self) -> None:
        while True:
            listener = self._site.hub.join()
            self._begin_anew()
            try:
                while not listener.is_gone:
                    await self._take_next(listener)
            finally:
                self._site.hub.leave(listener)
            self.close()

    async def _take_next(self, listener: Listener) -> None:
        lines = await listener.next()
        if lines is None:
            self._begin_anew()
        for text in lines or ():
            self._take(json.loads(text))

    def _begin_anew(self) -> None:
        """Messages were missed: pages start from a snapshot again, once it is due."""
        if self._has_room():
            self._hold(self._everything(is_note=False))

    def _take(self, message: Json) -> None:
        if message["type"] == "tick" and self._shown.snapshot is None:
            self.tell(to_line({"type": "tick", "t": self._t()}))
        is_held = message["type"] == "tick" or self._has_room()
        line = self._seen(message) if is_held else None
        if line is not None:
            self._hold(line)

    def _has_room(self) -> bool:
        """Whether messages are held; once one is left out, none is before the next snapshot."""
        self._left_out = self._left_out or self._held.is_full
        return not self._left_out

    async def _note_snapshots(self) -> None:
        while True:
            await self._clock.sleep_until(self._clock.monotonic() + _SNAPSHOT_EVERY_S)
            self._hold(self._everything(is_note=not self._left_out))
            self._left_out = False

    def _hold(self, line: Line) -> None:
        self._held.add(self._clock.monotonic() + self._sight.delay_s, line)

    async def _release(self) -> None:
        while True:
            await self._clock.sleep_until(await self._held.next_due())
            for line in self._held.taken(self._clock.monotonic()):
                self._let_out(line)

    def _everything(self, *, is_note: bool) -> Line:
        line = self._seen({"type": "snapshot", **self._site.snapshot()}, is_note)
        assert line is not None, "a snapshot is never left out"
        return line

    def _seen(self, message: Json, is_note: bool = False) -> Line | None:
        shown = self._stripped(message) if self._sight.hides_targets else message
        if shown is None:
            return None
        shown = self._numbered(shown, is_note)
        return Line(shown["type"], shown.get("seq"), shown.get("epoch"), to_line(shown), is_note)

    def _stripped(self, message: Json) -> Json | None:
        """Without targets, and without a word of calls that are not shown."""
        shown = stripped(message)
        if shown is None or (shown["type"] == "call_state" and shown["id"] not in self._told):
            return None
        if shown["type"] == "call":
            self._told.add(shown["id"])
        elif shown["type"] == "snapshot":
            self._told.update(call["id"] for call in shown["calls"])
        return shown

    def _numbered(self, message: Json, is_note: bool) -> Json:
        if "seq" not in message:
            return message
        if not is_note or message["epoch"] != self._noted_epoch:
            self._seq += 1
        self._noted_epoch = message.get("epoch", self._noted_epoch)
        return {**message, "seq": self._seq}

    def _let_out(self, line: Line) -> None:
        is_told = line.type != "snapshot" or self._shown.tells_anew(line)
        if line.type == "tick":
            self._ticked = json.loads(line.text)["t"], self._clock.monotonic()
        self._shown.let_out(line)
        if is_told:
            self.tell(line.text)

    def _t(self) -> float:
        return round(self.now(), 3)
