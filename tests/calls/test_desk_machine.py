"""The desk and its outlets failing in any order, on a virtual clock.

Outlets play, fail, say nothing, raise, end, and recover; calls are answered or not. A call that
nobody was heard to sound is announced again within three seconds on every outlet that did not
play it, the backup too, and nothing raises.
"""

from __future__ import annotations

import asyncio
from collections.abc import Sequence
from contextlib import suppress
from datetime import UTC, datetime
from enum import Enum

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, precondition, rule

from pullcall.clock import RecordedClock
from pullcall.events import Call, CallKind
from pullcall.outlets.desk import Desk
from pullcall.outlets.outlet import (
    Burst,
    OutletKind,
    OutletState,
    OutletStatus,
    Report,
    Reports,
)
from pullcall.outlets.phones import Phones

#: A call nobody was heard to sound is announced again within this, seconds.
AGAIN_S = 3.0


class Mood(Enum):
    """What an outlet does with a call."""

    PLAYS = "plays"
    FAILS = "fails"
    IS_SILENT = "is silent"
    RAISES = "raises"


class Horn:
    """A loudspeaker that does as it is told and keeps when it was given what."""

    kind = OutletKind.LOUDSPEAKER

    def __init__(self, name: str, clock: RecordedClock) -> None:
        self.name, self.mood = name, Mood.PLAYS
        self.given: list[tuple[float, Call]] = []
        self.played: set[tuple[str, float]] = set()
        self._clock = clock
        self._ended = asyncio.Event()
        self._report: Reports | None = None

    async def run(self, report: Reports) -> None:
        self._report = report
        self._ended.clear()
        await self._ended.wait()
        self._report = None
        raise RuntimeError("the cable is out")

    def end(self) -> None:
        self._ended.set()

    def announce(self, burst: Burst) -> None:
        self.given += [(self._clock.monotonic(), call) for call in burst]
        if self.mood is Mood.RAISES:
            raise RuntimeError("broken")
        if self._report is not None and self.mood is not Mood.IS_SILENT:
            for call in burst:
                plays = self.mood is Mood.PLAYS
                if plays:
                    self.played.add((call.id, call.t))
                self._report(Report(call, self.name, plays, self._clock.monotonic()))

    def begin_cook(self, steaks: Sequence[str]) -> None:
        self._maybe_raise()

    def silence(self, call_id: str) -> None:
        self._maybe_raise()

    def status(self) -> OutletStatus:
        self._maybe_raise()
        return OutletStatus(self.name, self.kind, OutletState.OK)

    def _maybe_raise(self) -> None:
        if self.mood is Mood.RAISES:
            raise RuntimeError("broken")


class Outlets(RuleBasedStateMachine):
    """Two horns and a backup. ``open`` holds what was announced and when it must come again."""

    def __init__(self) -> None:
        super().__init__()
        self.loop = asyncio.new_event_loop()
        self.clock = RecordedClock(datetime(2026, 6, 13, 13, 40, tzinfo=UTC))
        self.usual = [Horn("near", self.clock), Horn("far", self.clock)]
        self.backup = Horn("backup", self.clock)
        phones = Phones(self.clock)
        self.desk = Desk(phones, self.usual, self.clock, backups=[self.backup])
        self.task = self.loop.create_task(self.desk.run())
        self.open: list[tuple[float, Call]] = []
        self.made = 0
        self.settle()

    @property
    def horns(self) -> list[Horn]:
        return [*self.usual, self.backup]

    @initialize(mood=st.sampled_from(list(Mood)))
    def all_begin_alike(self, mood: Mood) -> None:
        for horn in self.horns:
            horn.mood = mood

    @rule(which=st.integers(0, 2), mood=st.sampled_from(list(Mood)))
    def an_outlet_changes(self, which: int, mood: Mood) -> None:
        self.horns[which].mood = mood

    @rule(which=st.integers(0, 2))
    def an_outlet_ends(self, which: int) -> None:
        self.horns[which].end()
        self.settle()

    @rule(priorities=st.lists(st.integers(1, 3), min_size=1, max_size=3), insistent=st.booleans())
    def calls_are_made(self, priorities: list[int], insistent: bool) -> None:
        now = self.clock.monotonic()
        burst = tuple(self.call(now, priority, insistent) for priority in sorted(priorities))
        self.loop.call_soon(self.desk.announce, burst)
        self.settle()
        for call in burst:
            assert all(self.times(horn, call) == [now] for horn in self.usual)
            assert bool(self.times(self.backup, call)) == call.insistent
            if call.priority <= 2 and not self.was_played(call):
                self.open.append((now, call))

    @precondition(lambda self: self.open)
    @rule(data=st.data())
    def one_is_answered(self, data: st.DataObject) -> None:
        _, call = data.draw(st.sampled_from(self.open))
        self.loop.call_soon(self.desk.silence, call.id)
        self.settle()
        self.open = [(t, c) for t, c in self.open if c.id != call.id]

    @rule(seconds=st.sampled_from([0.5, 1.0, 2.0, 7.0]))
    def time_passes(self, seconds: float) -> None:
        until = self.clock.monotonic() + seconds
        while self.clock.monotonic() < until:
            self.clock.advance_to(self.clock.monotonic() + 0.5)
            self.settle()
            self.check()

    @rule()
    def the_site_asks(self) -> None:
        assert len(self.desk.statuses()) == 4
        self.desk.is_heard(self.clock.monotonic())

    def check(self) -> None:
        """What nobody was heard to sound has come again, once, wherever it had not played."""
        assert not self.task.done(), "nothing an outlet does ends the desk"
        now = self.clock.monotonic()
        for made, call in [one for one in self.open if now - one[0] >= AGAIN_S]:
            self.open.remove((made, call))
            for horn in self.horns:
                again = [t for t in self.times(horn, call) if t > made]
                assert again == [made + AGAIN_S], (horn.name, call, again)

    def call(self, t: float, priority: int, insistent: bool) -> Call:
        self.made += 1
        urgent = insistent and priority == 1
        return Call(t, f"c{self.made}", ("left",), CallKind.PULL_NOW, None, priority, "Now", urgent)

    def was_played(self, call: Call) -> bool:
        return any((call.id, call.t) in horn.played for horn in self.horns)

    @staticmethod
    def times(horn: Horn, call: Call) -> list[float]:
        return [t for t, given in horn.given if (given.id, given.t) == (call.id, call.t)]

    def settle(self) -> None:
        """Let every task that can go on without the clock do so."""

        async def turns() -> None:
            for _ in range(30):
                await asyncio.sleep(0)

        self.loop.run_until_complete(turns())

    def teardown(self) -> None:
        self.task.cancel()
        with suppress(asyncio.CancelledError):
            self.loop.run_until_complete(self.task)
        self.loop.close()


TestOutlets = Outlets.TestCase
TestOutlets.settings = settings(
    max_examples=50,
    stateful_step_count=30,
    deadline=None,
    suppress_health_check=list(HealthCheck),
)
