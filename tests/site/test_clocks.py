"""No call moves, whatever the machine's clocks do; the window follows the clock that is known."""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from pullcall.core.setup import window_of
from pullcall.events import (
    Call,
    CallKind,
    CookHeader,
    Fault,
    Mark,
    MarkKind,
    Setting,
    SteakSettings,
)
from pullcall.local_zone import local
from pullcall.log.call_records import call_record
from pullcall.log.records import to_line
from pullcall.log.replay import replay
from pullcall.log.store import Store
from pullcall.plan.wall import parse_window
from pullcall.site.live import Site
from pullcall.site.options import SiteOptions
from pullcall.sources.sink import ChannelReading
from tests.desk import KeptSpeaker, desk_with
from tests.set_clock import NOON, SetClock
from tests.site.at_work import at_work

BOARD = datetime(1970, 1, 1, 0, 1, tzinfo=UTC)
USUAL = CookHeader("", "", (SteakSettings("left", channel="p/1"),))
OPTIONS = SiteOptions(boot="boot-1", usual=USUAL)
#: Of a cook that comes to its pull.
ENDS_S = 110


class Machine:
    """One machine with its log: its clock, and whether something keeps that right."""

    def __init__(self, log: Path, wall: datetime, kept: bool) -> None:
        self.log, self.clock, self.kept = log, SetClock(wall), kept
        self.speaker = KeptSpeaker()
        self.options = OPTIONS

    def reboot(self, wall: datetime, up_s: float = 20.0) -> None:
        """Started again ``up_s`` ago, with a clock that says ``wall``."""
        self.clock, self.kept, self.speaker = SetClock(wall), False, KeptSpeaker()
        self.clock.advance_to(up_s)
        self.clock.set_wall(wall)
        self.options = replace(self.options, boot=f"{self.options.boot}+")

    @asynccontextmanager
    async def site(self) -> AsyncIterator[Site]:
        with Store(self.log) as store:
            desk = desk_with(self.speaker)
            site = Site(store, self.clock, [], self.options, desk, trust=lambda: self.kept)
            async with at_work(site):
                yield site

    def step(self, seconds: float) -> None:
        self.clock.set_wall(self.clock.wall() + timedelta(seconds=seconds))

    async def cook(self, site: Site, until_s: int) -> None:
        """A reading each second of a core that comes to its pull; the cook's own seconds."""
        t = round(site.now())
        while t < until_s:
            t += 1
            self.clock.advance_to(site._open.zero + t)
            core_c = min(30.0 + 0.3 * t, 54.5)
            site.reading(ChannelReading("p/1", core_c, self.clock.monotonic()))
            await until(lambda t=t: site.cook.next_tick > t)  # type: ignore[misc]

    def calls(self) -> list[str]:
        """Every call of the last cook as it was told, without the notices of the clock."""
        with Store(self.log) as store:
            lines = store.call_lines(store.cooks()[-1].id)
        told = map(json.loads, lines)
        return [f"{c['t']} {c['text']}" for c in told if not c["call"].startswith("clock")]

    def replays(self) -> bool:
        """Whether a replay calls the same, byte for byte."""
        with Store(self.log) as store:
            cook = store.cooks()[-1].id
            again = [
                to_line(call_record(e)) for e in replay(store.cook(cook)) if isinstance(e, Call)
            ]
            return store.call_lines(cook) == again != []


async def until(holds: Callable[[], object]) -> None:
    async with asyncio.timeout(60):
        while not holds():  # noqa: ASYNC110 - the site has no event for it
            await asyncio.sleep(0.002)


async def put_on(site: Site) -> None:
    await site.take(lambda t: Mark(t, None, MarkKind.ON, "on"))


def look(site: Site) -> None:
    """What the beat does each second."""
    site._follow_clock()
    site._look_around()


def started(site: Site) -> datetime:
    return datetime.fromisoformat(site.cook.setup.started)


def clock_check(site: Site) -> str | None:
    checks = {c["name"]: c for c in site.snapshot()["readiness"]}
    return None if checks["clock"]["ok"] else checks["clock"]["words"]


async def cooked(folder: Path) -> list[str]:
    machine = Machine(folder / "untouched.db", NOON, kept=True)
    async with machine.site() as site:
        await put_on(site)
        await machine.cook(site, ENDS_S)
    return machine.calls()


@pytest.fixture(scope="module")
def untouched(tmp_path_factory: pytest.TempPathFactory) -> list[str]:
    """The calls of a cook during which nothing happened to any clock."""
    calls = asyncio.run(cooked(tmp_path_factory.mktemp("untouched")))
    assert any("pull now" in call for call in calls)
    return calls


@pytest.mark.parametrize(
    ("step_s", "kept"),
    [
        (3600.0, True),
        (3600.0, False),
        (-3600.0, True),
        (-3600.0, False),
        (86400.0 * 400, False),
        (0.5, True),
        (-1.0, True),
        (5.0, True),
    ],
)
async def test_no_step_of_the_time_of_day_moves_a_call(
    tmp_path: Path, untouched: list[str], step_s: float, kept: bool
) -> None:
    machine = Machine(tmp_path / "cooks.db", NOON, kept)
    async with machine.site() as site:
        await put_on(site)
        await machine.cook(site, 40)
        look(site)
        machine.step(step_s)
        look(site)
        await until(lambda: ((Fault.CLOCK, "") in site.cook.faults()) is (abs(step_s) > 2.0))
        await machine.cook(site, ENDS_S)
    assert machine.calls() == untouched
    assert machine.replays()


async def test_a_board_that_starts_in_1970_cooks_and_its_window_follows_once_the_clock_is_set(
    tmp_path: Path, untouched: list[str]
) -> None:
    machine = Machine(tmp_path / "cooks.db", BOARD, kept=False)
    machine.options = replace(OPTIONS, window="14:00-14:30")
    async with machine.site() as site:
        await put_on(site)
        await machine.cook(site, 40)
        look(site)
        await until(lambda: (Fault.UNSET, "") in site.cook.faults())
        assert "not set" in str(clock_check(site))
        machine.clock.set_wall(NOON)
        machine.kept = True
        look(site)
        look(site)
        await until(lambda: not {f for f, _ in site.cook.faults()} & {Fault.UNSET})
        meant = parse_window("14:00-14:30", local(NOON))
        await until(lambda: site.cook.setup.window == meant)
        assert abs(started(site) - (NOON - timedelta(seconds=40))) < timedelta(seconds=1)
        opens = (datetime.fromisoformat(meant.opens) - NOON).total_seconds()
        span = window_of(site.cook.setup)
        assert span is not None
        assert span[0] == pytest.approx(40 + opens, abs=1.0)
        assert clock_check(site) is None
        await machine.cook(site, ENDS_S)
    pulls = [call for call in machine.calls() if "pull" in call]
    assert pulls == [call for call in untouched if "pull" in call]
    assert machine.replays()


async def test_a_window_set_in_1970_follows_the_phone_s_clock(tmp_path: Path) -> None:
    machine = Machine(tmp_path / "cooks.db", BOARD, kept=False)
    machine.options = replace(OPTIONS, window="14:00-14:30")
    async with machine.site() as site:
        await site.set_clock(NOON)
        assert site.cook.setup.window == parse_window("14:00-14:30", local(NOON))
        assert clock_check(site) is None
        look(site)
        machine.clock.set_wall(NOON)  # later a network agrees: nobody is asked anything
        machine.kept = True
        look(site)
        assert clock_check(site) is None


async def test_a_known_clock_that_steps_moves_no_window_and_asks(tmp_path: Path) -> None:
    machine = Machine(tmp_path / "cooks.db", NOON, kept=True)
    machine.options = replace(OPTIONS, window="14:00-14:30")
    async with machine.site() as site:
        before = site.cook.setup
        machine.step(3600.0)
        look(site)
        await until(lambda: (Fault.CLOCK, "") in site.cook.faults())
        assert site.cook.setup == before
        assert "1:00 h ahead" in str(clock_check(site))
        right = site._wall()
        await site.set_clock(right)
        look(site)
        assert clock_check(site) is None
        assert abs(started(site) - NOON) < timedelta(seconds=1)
        assert site.cook.setup.window == before.window


async def test_an_unset_clock_that_goes_back_is_not_followed(tmp_path: Path) -> None:
    machine = Machine(tmp_path / "cooks.db", NOON, kept=False)
    async with machine.site() as site:
        before = started(site)
        look(site)
        machine.step(-7200.0)
        look(site)
        await until(lambda: (Fault.CLOCK, "") in site.cook.faults())
        assert started(site) == before


async def test_the_pull_that_fell_into_a_suspended_machine_is_told_at_once_and_no_lead(
    tmp_path: Path,
) -> None:
    machine = Machine(tmp_path / "cooks.db", NOON, kept=True)
    async with machine.site() as site:
        await put_on(site)
        await machine.cook(site, 35)
        pages = site.hub.join()
        said = len(machine.speaker.said())
        machine.clock.advance_to(site._open.zero + 85.0)
        await until(lambda: site.cook.next_tick > 85)
        machine.clock.advance_to(site._open.zero + 86.0)
        await until(lambda: len(machine.speaker.said()) > said)
        heard = machine.speaker.said()[said:]
        assert {c.call for c in heard} <= {CallKind.PULL_NOW, CallKind.OVER}
        assert heard[0].t >= 84.0
        told = [json.loads(x) for x in drained(pages.queue) if x]
        types = [m["type"] for m in told if m["type"] in ("call", "snapshot")]
        assert types[0] == "snapshot"
    assert any("about" in call for call in machine.calls())  # it is in the log, as late as it is
    assert machine.replays()


def drained(queue: asyncio.Queue[str | None]) -> list[str | None]:
    return [queue.get_nowait() for _ in range(queue.qsize())]


async def test_a_turn_that_fell_into_a_suspended_machine_is_called_late(tmp_path: Path) -> None:
    machine = Machine(tmp_path / "cooks.db", NOON, kept=True)
    async with machine.site() as site:
        await put_on(site)
        machine.clock.advance_to(132.0)  # the turn was due at 120
        await until(lambda: site.cook.next_tick > 132)
        await machine.cook(site, 138)  # the lost probe has the first word
        await until(lambda: [c for c in machine.speaker.said() if c.call is CallKind.TURN])
        (turn,) = (c for c in machine.speaker.said() if c.call is CallKind.TURN)
        assert turn.t >= 132.0
        assert turn.in_s == 0.0


# A board that is started again


async def cook_to_forty(machine: Machine) -> None:
    async with machine.site() as site:
        look(site)
        await put_on(site)
        await machine.cook(site, 40)


async def test_a_reboot_counts_from_the_start_that_was_set_right(tmp_path: Path) -> None:
    machine = Machine(tmp_path / "cooks.db", BOARD, kept=False)
    async with machine.site() as site:
        await put_on(site)
        await site.set_clock(NOON)
        await machine.cook(site, 40)
    machine.reboot(NOON + timedelta(seconds=100))
    async with machine.site() as site:
        assert site.now() == pytest.approx(100.0, abs=1.5)


async def test_a_reboot_without_a_clock_guesses_says_so_and_makes_up_for_it(
    tmp_path: Path,
) -> None:
    machine = Machine(tmp_path / "cooks.db", NOON, kept=True)
    await cook_to_forty(machine)
    machine.reboot(BOARD, up_s=20.0)
    async with machine.site() as site:
        assert site.now() == pytest.approx(60.0, abs=0.5)  # never before last, nor since the start
        look(site)
        await until(lambda: (Fault.UNSET, "gap") in site.cook.faults())
        assert "guess" in str(clock_check(site))
        machine.clock.set_wall(NOON + timedelta(seconds=75))
        machine.kept = True
        look(site)
        await until(lambda: site.cook.next_tick > 75)
        assert site.now() == pytest.approx(75.0, abs=0.5)
        assert abs(started(site) - NOON) < timedelta(seconds=1)
        await until(lambda: (Fault.UNSET, "gap") not in site.cook.faults())
    async with machine.site() as site:  # started again within that boot: the same seconds
        assert site.now() == pytest.approx(75.0, abs=0.5)


async def test_a_gap_that_no_cook_survives_is_not_made_up_for(tmp_path: Path) -> None:
    machine = Machine(tmp_path / "cooks.db", NOON, kept=True)
    await cook_to_forty(machine)
    machine.reboot(BOARD)
    async with machine.site() as site:
        machine.clock.set_wall(NOON + timedelta(hours=3))
        machine.kept = True
        look(site)
        await until(lambda: started(site) > NOON + timedelta(hours=2))
        assert site.now() == pytest.approx(60.0, abs=1.0)


async def test_cooks_of_1970_are_listed_in_the_order_in_which_they_were(tmp_path: Path) -> None:
    machine = Machine(tmp_path / "cooks.db", BOARD, kept=False)
    async with machine.site() as site:
        first = site.cook.header.cook
        second = await site.begin(None)
        await site.set_clock(NOON)
        third = await site.begin(None)
    with Store(machine.log) as store:
        assert [entry.id for entry in store.cooks()] == [first, second, third]
    assert first.startswith("1970")
    assert third.startswith(f"{NOON:%Y%m%d}")


async def test_what_clocks_set_right_does_not_make_a_cook_touched(tmp_path: Path) -> None:
    machine = Machine(tmp_path / "cooks.db", BOARD, kept=False)
    async with machine.site() as site:
        machine.clock.set_wall(NOON)
        look(site)
        await until(lambda: any(isinstance(e, Setting) for e in site.cook.history.standing(-1e9)))
        first = site.cook.header.cook
    machine.options = replace(OPTIONS, usual=replace(USUAL, rest_on="board"))
    async with machine.site() as site:
        assert site.cook.header.cook != first
