"""A feed for watchers: some minutes late, without targets, or both."""

from __future__ import annotations

import asyncio
import json
from collections import deque
from dataclasses import dataclass, field
from typing import Any

from pullcall.access.records import Sight
from pullcall.api.sight.feed import Shown, hello
from pullcall.api.sight.strip import stripped
from pullcall.clock import Clock
from pullcall.errors import RefusedError
from pullcall.log.records import to_line
from pullcall.site.hub import Audience

Json = dict[str, Any]

#: How often everything is noted, for whoever joins later, seconds.
_SNAPSHOT_EVERY_S = 10.0
#: What is not late is noted anew when somebody comes, but not for each who comes, seconds.
_GOOD_FOR_S = 1.0
#: Messages kept for a page that comes back.
_KEPT = 1500


@dataclass(frozen=True, slots=True)
class _Line:
    """A message as it is sent. ``epoch`` is a snapshot's; ``seq`` is None where it has none."""

    type: str
    seq: int | None
    epoch: str | None
    text: str


@dataclass(slots=True)
class _Shown:
    """What has been let out: the latest snapshot, and the numbered lines."""

    snapshot: _Line | None = None
    seq: int = 0
    lines: deque[_Line] = field(default_factory=lambda: deque(maxlen=_KEPT))

    def let_out(self, line: _Line) -> None:
        """Remember a numbered line; a snapshot of another run forgets the run before."""
        if line.type == "snapshot":
            if self.snapshot and self.snapshot.epoch != line.epoch:
                self.lines.clear()
            self.snapshot = line
        elif line.seq is not None:
            self.lines.append(line)
        self.seq = max(self.seq, line.seq or 0)

    def after(self, seq: int) -> list[str]:
        """The lines after a number."""
        return [line.text for line in self.lines if line.seq is not None and line.seq > seq]

    def reaches(self, seq: int) -> bool:
        """Whether nothing after ``seq`` has been forgotten."""
        oldest = (self.lines[0].seq or 0) if self.lines else self.seq + 1
        return oldest - 1 <= seq <= self.seq


class WatchedFeed(Audience):
    """Holds each message back for ``sight.delay_s`` and strips it if targets are hidden.

    Until that time has passed since the feed began there is nothing to show: pages get ticks.
    """

    def __init__(self, site: Shown, sight: Sight, clock: Clock) -> None:
        super().__init__()
        self._site = site
        self._sight = sight
        self._clock = clock
        self._held: asyncio.Queue[tuple[float, _Line]] = asyncio.Queue()
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
            self._let_out(self._noted())
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
            try:
                while (text := await listener.queue.get()) is not None:
                    self._take(json.loads(text))
            finally:
                self._site.hub.leave(listener)
            self._begin_again()

    def _begin_again(self) -> None:
        """Messages were missed: pages start from a snapshot again."""
        self._shown.lines.clear()
        self._hold(self._noted())
        self.close()

    def _take(self, message: Json) -> None:
        if message["type"] == "tick" and self._shown.snapshot is None:
            self.tell(to_line({"type": "tick", "t": self._t()}))
        line = self._seen(message)
        if line is not None:
            self._hold(line)

    async def _note_snapshots(self) -> None:
        while True:
            self._hold(self._noted())
            await self._clock.sleep_until(self._clock.monotonic() + _SNAPSHOT_EVERY_S)

    def _hold(self, line: _Line) -> None:
        self._held.put_nowait((self._clock.monotonic() + self._sight.delay_s, line))

    async def _release(self) -> None:
        while True:
            due, line = await self._held.get()
            await self._clock.sleep_until(due)
            self._let_out(line)

    def _noted(self) -> _Line:
        line = self._seen({"type": "snapshot", **self._site.snapshot()})
        assert line is not None, "a snapshot is never left out"
        return line

    def _seen(self, message: Json) -> _Line | None:
        shown = self._stripped(message) if self._sight.hides_targets else message
        if shown is None:
            return None
        shown = self._numbered(shown)
        return _Line(shown["type"], shown.get("seq"), shown.get("epoch"), to_line(shown))

    def _stripped(self, message: Json) -> Json | None:
        """Without targets, and without a word of calls that are not shown."""
        shown = stripped(message)
        if shown is None or (shown["type"] == "call_state" and shown["id"] not in self._told):
            return None
        if shown["type"] == "call":
            self._told.add(shown["id"])
        return shown

    def _numbered(self, message: Json) -> Json:
        if "seq" not in message:
            return message
        if message["type"] != "snapshot" or message["epoch"] != self._noted_epoch:
            self._seq += 1
        self._noted_epoch = message.get("epoch", self._noted_epoch)
        return {**message, "seq": self._seq}

    def _let_out(self, line: _Line) -> None:
        # Pages that follow the stream know what a mere note of the same run says.
        is_note = line.type == "snapshot" and line.epoch == self.epoch
        if line.type == "tick":
            self._ticked = json.loads(line.text)["t"], self._clock.monotonic()
        self._shown.let_out(line)
        if not is_note:
            self.tell(line.text)

    def _t(self) -> float:
        return round(self.now(), 3)
