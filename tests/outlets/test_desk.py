"""The desk: escalation, who can hear, and outlets that misbehave."""

from __future__ import annotations

import asyncio
import itertools
from collections.abc import Sequence

import pytest

from pullcall.outlets.desk import UNHEARD_S, Desk
from pullcall.outlets.outlet import (
    Burst,
    OutletKind,
    OutletState,
    OutletStatus,
    Report,
    Reports,
)
from pullcall.outlets.phones import Phones
from tests.outlets.ears import Reported, call, clock, running, settle


class Horn:
    """An outlet that does what a test tells it."""

    def __init__(
        self,
        name: str = "horn",
        kind: OutletKind = OutletKind.LOUDSPEAKER,
        *,
        plays: bool = True,
    ) -> None:
        self.name, self.kind, self.plays = name, kind, plays
        self.state = OutletState.OK
        self.given: list[Burst] = []
        self.other: list[object] = []
        self.starts = 0
        self.stop = asyncio.Event()
        self.fault: Exception | None = None
        self._report: Reports | None = None

    async def run(self, report: Reports) -> None:
        self.starts += 1
        if self.fault is not None:
            raise self.fault
        self._report = report
        self.stop.clear()
        await self.stop.wait()

    def begin_cook(self, steaks: Sequence[str]) -> None:
        self.other.append(tuple(steaks))

    def announce(self, burst: Burst) -> None:
        self.given.append(burst)
        if self._report is not None:
            for one in burst:
                self._report(Report(one, self.name, self.plays, 0.0))

    def silence(self, call_id: str) -> None:
        self.other.append(call_id)

    def status(self) -> OutletStatus:
        return OutletStatus(self.name, self.kind, self.state)

    def ids(self) -> list[list[str]]:
        return [[one.id for one in burst] for burst in self.given]


class Broken(Horn):
    """An outlet of which everything raises."""

    async def run(self, report: Reports) -> None:
        self.starts += 1
        raise RuntimeError("broken")

    def begin_cook(self, steaks: Sequence[str]) -> None:
        raise RuntimeError("broken")

    def announce(self, burst: Burst) -> None:
        raise RuntimeError("broken")

    def silence(self, call_id: str) -> None:
        raise RuntimeError("broken")

    def status(self) -> OutletStatus:
        raise RuntimeError("broken")


class Table:
    """A desk with outlets on a clock that the test moves."""

    def __init__(self, *others: Horn, backups: Sequence[Horn] = ()) -> None:
        self.clock = clock()
        self.phones = Phones(self.clock)
        self.reported = Reported()
        self.again: list[Burst] = []
        self.desk = Desk(
            self.phones,
            others,
            self.clock,
            backups=backups,
            on_report=self.reported,
            on_unheard=self.again.append,
        )

    async def after(self, seconds: float) -> None:
        await settle()
        self.clock.advance_to(self.clock.monotonic() + seconds)
        await settle()


async def test_a_call_that_was_played_is_announced_once_and_remembered() -> None:
    horn, backup = Horn(), Horn("backup", OutletKind.WEBHOOK)
    table = Table(horn, backups=[backup])
    async with running(table.desk.run()):
        await settle()
        table.desk.announce((call("c1"),))
        await table.after(10.0)
    assert horn.ids() == [["c1"]]
    assert backup.ids() == []
    heard = table.desk.last_heard("c1")
    assert heard is not None
    assert heard.outlet == "horn"
    assert table.desk.last_heard("c2") is None


async def test_what_nobody_played_is_announced_again_once_on_every_outlet_and_the_backups() -> None:
    horn, backup = Horn(plays=False), Horn("backup", OutletKind.WEBHOOK)
    table = Table(horn, backups=[backup])
    burst = (call("c1", priority=1), call("c2", priority=2), call("c3", priority=3))
    async with running(table.desk.run()):
        await settle()
        table.desk.announce(burst)
        await table.after(UNHEARD_S - 0.1)
        assert horn.ids() == [["c1", "c2", "c3"]]
        await table.after(0.1)
        assert horn.ids() == [["c1", "c2", "c3"], ["c1", "c2"]]
        assert backup.ids() == [["c1", "c2"]]
        await table.after(60.0)
    assert len(horn.given) == 2
    assert table.again == [burst[:2]]


async def test_only_the_calls_of_a_burst_that_nobody_played_are_announced_again() -> None:
    table = Table(backups=[backup := Horn("backup", OutletKind.WEBHOOK)])
    table.phones.seen("a", True, 0.0)
    async with running(table.desk.run()):
        await settle()
        table.desk.announce((call("c1"), call("c2")))
        table.phones.receipt("a", "c1", 0.2)
        await table.after(UNHEARD_S)
    assert backup.ids() == [["c2"]]


async def test_an_alarm_nobody_answered_goes_to_the_backups_at_once() -> None:
    horn, backup = Horn(), Horn("backup", OutletKind.WEBHOOK)
    table = Table(horn, backups=[backup])
    async with running(table.desk.run()):
        await settle()
        table.desk.announce((call("c1", insistent=True), call("c2")))
        assert horn.ids() == [["c1", "c2"]]
        assert backup.ids() == [["c1"]]


async def test_delivery_to_an_address_is_not_hearing_and_is_not_repeated() -> None:
    hook, horn = Horn("hook", OutletKind.WEBHOOK), Horn(plays=False)
    table = Table(hook, horn)
    async with running(table.desk.run()):
        await settle()
        table.desk.announce((call("c1"),))
        await table.after(UNHEARD_S)
    assert hook.ids() == [["c1"]]
    assert horn.ids() == [["c1"], ["c1"]]
    assert table.desk.last_heard("c1") is None


async def test_an_answered_call_is_not_announced_again() -> None:
    horn = Horn(plays=False)
    table = Table(horn)
    async with running(table.desk.run()):
        await settle()
        table.desk.announce((call("c1"),))
        table.desk.silence("c1")
        await table.after(UNHEARD_S)
    assert horn.ids() == [["c1"]]
    assert horn.other == ["c1"]


async def test_a_repeat_of_an_alarm_is_waited_for_by_itself() -> None:
    horn = Horn()
    table = Table(horn)
    async with running(table.desk.run()):
        await settle()
        table.desk.announce((call("c1", t=480.0),))
        horn.plays = False
        await table.after(1.0)
        table.desk.announce((call("c1", t=485.0),))
        await table.after(UNHEARD_S)
    assert [burst[0].t for burst in horn.given] == [480.0, 485.0, 485.0]


async def test_outlets_that_raise_disturb_neither_the_desk_nor_the_others() -> None:
    horn, broken = Horn(), Broken("broken", OutletKind.WEBHOOK)
    table = Table(broken, horn)
    async with running(table.desk.run()):
        await settle()
        table.desk.begin_cook(["left", "right"])
        table.desk.announce((call("c1"),))
        table.desk.silence("c1")
        await table.after(1.0)
        assert [status.name for status in table.desk.statuses()] == ["phones", "broken", "horn"]
        assert table.desk.statuses()[1].state is OutletState.FAILING
        assert table.desk.is_heard(0.0)
    assert horn.ids() == [["c1"]]
    assert horn.other == [("left", "right"), "c1"]


async def test_an_outlet_that_stops_is_started_again_ever_later_and_says_so() -> None:
    horn = Horn()
    horn.fault = RuntimeError("no")
    table = Table(horn)
    starts_at: list[float] = []
    async with running(table.desk.run()):
        for second in range(130):
            before = horn.starts
            table.clock.advance_to(float(second))
            await settle()
            starts_at += [float(second)] * (horn.starts - before)
        status = table.desk.statuses()[1]
        assert status.state is OutletState.FAILING
        assert "stopped by a mistake (RuntimeError)" in status.note
        assert not table.desk.is_heard(0.0)
        horn.fault = None
        await table.after(60.0)
        assert table.desk.statuses()[1].state is OutletState.OK
    waits = [b - a for a, b in itertools.pairwise(starts_at)]
    assert waits[:6] == [1.0, 2.0, 4.0, 8.0, 16.0, 30.0]
    assert max(waits) == 30.0


async def test_an_outlet_that_played_since_is_started_again_soon() -> None:
    horn = Horn()
    horn.fault = RuntimeError("no")
    table = Table(horn)
    async with running(table.desk.run()):
        await table.after(1.0)
        await table.after(2.0)
        horn.fault = None
        await table.after(4.0)
        assert horn.starts == 4
        table.desk.announce((call("c1"),))
        horn.stop.set()
        await table.after(0.9)
        assert horn.starts == 4
        await table.after(0.1)
        assert horn.starts == 5


async def test_a_listener_that_raises_does_not_end_the_desk() -> None:
    horn = Horn(plays=False)
    table = Table(horn)

    def raises(told: object) -> None:
        raise RuntimeError("broken")

    table.desk.on_report = table.desk.on_unheard = raises
    async with running(table.desk.run()):
        await settle()
        for number in (1, 2):
            table.desk.announce((call(f"c{number}"),))
            await table.after(UNHEARD_S)
    assert horn.ids() == [["c1"], ["c1"], ["c2"], ["c2"]]
    assert "reports of outlets" in {one.part for one in table.desk.edges.troubles()}


@pytest.mark.parametrize(
    "armed, state, heard",
    [
        (True, OutletState.FAILING, True),
        (False, OutletState.OK, True),
        (False, OutletState.FAILING, False),
        (False, OutletState.OFF, False),
    ],
)
def test_somebody_can_hear_with_an_armed_phone_or_a_loudspeaker_that_plays(
    armed: bool, state: OutletState, heard: bool
) -> None:
    horn = Horn()
    horn.state = state
    table = Table(horn, Horn("hook", OutletKind.WEBHOOK))
    table.phones.seen("a", armed, 0.0)
    assert table.desk.is_heard(1.0) is heard


def test_an_empty_burst_is_nothing() -> None:
    horn = Horn()
    Table(horn).desk.announce(())
    assert horn.given == []
