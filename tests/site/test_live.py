"""A live site: logged before acted on, resumed after a stop, equal to its replay."""

from __future__ import annotations

import asyncio
import json
import threading
from collections.abc import AsyncIterator, Iterable
from contextlib import asynccontextmanager
from dataclasses import replace as changed
from datetime import UTC, datetime
from pathlib import Path

import pytest

from pullcall.clock import RecordedClock
from pullcall.core.cook import Cook
from pullcall.errors import LogError, RefusedError, StoppingError
from pullcall.events import (
    Call,
    CallKind,
    CookHeader,
    Lessons,
    Mark,
    MarkKind,
    Range,
    Setting,
    SteakSettings,
    Undo,
)
from pullcall.log.call_records import call_record
from pullcall.log.entries import Entry
from pullcall.log.records import to_line
from pullcall.log.replay import replay
from pullcall.log.store import Store
from pullcall.site.hub import Listener
from pullcall.site.live import Site
from pullcall.site.opening import like_before
from pullcall.site.options import SiteOptions
from pullcall.sources.sink import ChannelReading
from tests.desk import heard_desk
from tests.site.at_work import at_work

OPTIONS = SiteOptions(
    boot="boot-1",
    usual=CookHeader(
        "",
        "",
        (SteakSettings("left", channel="p/1"), SteakSettings("right", channel="p/2")),
    ),
)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "cooks.db"


@pytest.fixture
def clock() -> RecordedClock:
    return RecordedClock(datetime(2026, 6, 13, 13, 40, tzinfo=UTC))


@asynccontextmanager
async def running(store: Store, clock: RecordedClock) -> AsyncIterator[Site]:
    site = Site(store, clock, [], OPTIONS, heard_desk(), trust=lambda: True)
    async with at_work(site):
        yield site


async def mark(site: Site, kind: MarkKind, steak: str | None = None) -> Mark:
    taken = await site.take(lambda t: Mark(t, steak, kind, f"{kind}-{t:g}"))
    assert isinstance(taken, Mark)
    return taken


async def let_run(site: Site, clock: RecordedClock, until: float) -> None:
    """Move the clock on and give readings of a steady rise, half a second apart."""
    while clock.monotonic() < until:
        clock.advance_to(clock.monotonic() + 0.5)
        now = clock.monotonic()
        for channel in ("p/1", "p/2"):
            site.reading(ChannelReading(channel, 40.0 + 0.06 * now, now))
        await settled(site, now)


async def settled(site: Site, now: float) -> None:
    """Wait until the site has run everything up to ``now``."""
    async with asyncio.timeout(60):
        while site.cook.stamp(0.0) < now:  # noqa: ASYNC110 - the core has no event for it
            await asyncio.sleep(0)
        await asyncio.sleep(0.002)


async def test_a_mark_is_in_the_log_when_its_answer_comes(path: Path, clock: RecordedClock) -> None:
    with Store(path) as store:
        async with running(store, clock) as site:
            taken = await mark(site, MarkKind.ON)
            assert store.cook(site.cook.header.cook).inputs == (taken,)


async def test_a_refused_mark_leaves_no_trace(path: Path, clock: RecordedClock) -> None:
    with Store(path) as store:
        async with running(store, clock) as site:
            with pytest.raises(RefusedError):
                await mark(site, MarkKind.FLIP, "left")
            assert store.cook(site.cook.header.cook).inputs == ()


async def test_the_calls_of_a_live_cook_equal_those_of_its_replay(
    path: Path, clock: RecordedClock
) -> None:
    with Store(path) as store:
        async with running(store, clock) as site:
            await mark(site, MarkKind.ON)
            await let_run(site, clock, 100.0)
            flip = await mark(site, MarkKind.FLIP, "left")
            await site.take(lambda t: Undo(t, flip.id))
            await let_run(site, clock, 260.0)
            cook = site.cook.header.cook
        recorded = store.cook(cook)
        replayed = [to_line(call_record(e)) for e in replay(recorded) if isinstance(e, Call)]
        assert '"call":"pull_now"' in "".join(replayed)
        assert store.call_lines(cook) == replayed


async def test_a_cook_resumes_where_it_was_with_its_alarms(
    path: Path, clock: RecordedClock
) -> None:
    with Store(path) as store:
        async with running(store, clock) as site:
            await mark(site, MarkKind.ON)
            await let_run(site, clock, 250.0)
            before = site.snapshot()
            cook = site.cook.header.cook
        replayed = [
            to_line(call_record(e)) for e in replay(store.cook(cook)) if isinstance(e, Call)
        ]
        assert store.call_lines(cook) == replayed
    clock.advance_to(260.0)
    with Store(path) as store:
        async with running(store, clock) as site:
            after = site.snapshot()
            assert after["cook"] == before["cook"]
            assert after["marks"] == before["marks"]
            assert after["epoch"] != before["epoch"]
            assert {a.cause.call for a in site.cook.live_alarms()} >= {CallKind.PULL_NOW}
            await let_run(site, clock, 270.0)
            cook = site.cook.header.cook
        recorded = store.cook(cook)
        replayed = [to_line(call_record(e)) for e in replay(recorded) if isinstance(e, Call)]
        assert store.call_lines(cook) == replayed


class SlowClock(RecordedClock):
    """Moves on by ``step`` seconds each time it is asked: whoever asks was busy meanwhile."""

    step = 0.0

    def monotonic(self) -> float:
        self.advance_to(super().monotonic() + self.step)
        return super().monotonic()


def test_calls_of_the_seconds_in_which_a_cook_is_taken_up_are_logged(path: Path) -> None:
    """The first turn is called 10 s before its 120 s."""
    clock = SlowClock(datetime(2026, 6, 13, 13, 40, tzinfo=UTC))
    header = changed(OPTIONS.usual, cook="slow", started=clock.wall().isoformat())
    with Store(path) as store:
        store.begin(header, OPTIONS.boot, clock.monotonic())
        store.write([Entry("slow", Mark(0.5, None, MarkKind.ON, "on"))])
        clock.advance_to(107.5)
        clock.step = 2.0
        Site(store, clock, [], OPTIONS, heard_desk()).close()
        recorded = store.cook("slow")
        replayed = [to_line(call_record(e)) for e in replay(recorded) if isinstance(e, Call)]
        assert '"call":"turn"' in "".join(replayed)
        assert store.call_lines("slow") == replayed


async def test_a_site_that_was_closed_takes_nothing_and_says_so(
    path: Path, clock: RecordedClock
) -> None:
    with Store(path) as store:
        site = Site(store, clock, [], OPTIONS, heard_desk(), trust=lambda: True)
        site.close()
        with pytest.raises(StoppingError, match="being stopped"):
            await mark(site, MarkKind.ON)
        with pytest.raises(StoppingError, match="being stopped"):
            await site.begin(None)


async def test_calls_made_while_nothing_comes_in_are_replayed_too(
    path: Path, clock: RecordedClock
) -> None:
    with Store(path) as store:
        async with running(store, clock) as site:
            await mark(site, MarkKind.ON)
            for second in range(1, 260):
                clock.advance_to(float(second))
                await settled(site, second)
            cook = site.cook.header.cook
        replayed = [
            to_line(call_record(e)) for e in replay(store.cook(cook)) if isinstance(e, Call)
        ]
        assert '"call":"flip"' in "".join(replayed)
        assert store.call_lines(cook) == replayed


async def test_a_reboot_with_a_wall_clock_that_went_back_does_not_stop_the_cook(path: Path) -> None:
    before = RecordedClock(datetime(2026, 6, 13, 13, 40, tzinfo=UTC))
    with Store(path) as store:
        async with running(store, before) as site:
            before.advance_to(900.0)
            await mark(site, MarkKind.ON)
    after = RecordedClock(datetime(1970, 1, 1, tzinfo=UTC))
    with Store(path) as store:
        site = Site(store, after, [], changed(OPTIONS, boot="boot-2"), heard_desk())
        assert site.now() == pytest.approx(900.0)
        assert site.cook.steaks["left"].phase == "on"
        assert store.cooks()[-1].boot == "boot-2"
        site.close()


async def test_a_new_cook_takes_no_reading_of_the_old(path: Path, clock: RecordedClock) -> None:
    with Store(path) as store:
        async with running(store, clock) as site:
            clock.advance_to(1500.0)
            await mark(site, MarkKind.ON)
            begun = asyncio.create_task(site.begin(None))
            await asyncio.sleep(0)
            for _ in range(5):
                site.reading(ChannelReading("p/1", 20.0, clock.monotonic()))
            await begun
            await mark(site, MarkKind.ON)
            assert site.cook.latest_input_t < 1.0


async def test_a_slow_disk_does_not_hold_up_the_cook(
    path: Path, clock: RecordedClock, monkeypatch: pytest.MonkeyPatch
) -> None:
    with Store(path) as store:
        async with running(store, clock) as site:
            disk, write = threading.Event(), store.write

            def stall(entries: Iterable[Entry]) -> None:
                disk.wait(30)
                write(entries)

            monkeypatch.setattr("pullcall.site.ledger.PATIENCE_S", 0.05)
            monkeypatch.setattr(store, "write", stall)
            taken = await mark(site, MarkKind.ON)
            assert site.cook.steaks["left"].phase == "on"
            assert "slow" in site.snapshot()["banner"]
            disk.set()
            cook = site.cook.header.cook
        assert store.cook(cook).inputs == (taken,)


async def test_a_new_cook_keeps_the_probes_and_ends_the_old(
    path: Path, clock: RecordedClock
) -> None:
    with Store(path) as store:
        async with running(store, clock) as site:
            await mark(site, MarkKind.ON)
            epoch = site.hub.epoch
            new = await site.begin(None)
            first, second = store.cooks()
            assert first.ended is not None
            assert (second.id, second.ended) == (new, None)
            assert [s.channel for s in second.header.steaks] == ["p/1", "p/2"]
            assert site.hub.epoch != epoch
            assert site.cook.steaks["left"].phase == "waiting"


async def test_while_the_disk_fails_the_cook_goes_on_and_nothing_is_lost(
    path: Path, clock: RecordedClock, monkeypatch: pytest.MonkeyPatch
) -> None:
    with Store(path) as store:
        async with running(store, clock) as site:
            write = store.write

            def fail(entries: object) -> None:
                raise LogError("The disk is full.")

            monkeypatch.setattr(store, "write", fail)
            await mark(site, MarkKind.ON)
            assert site.cook.steaks["left"].phase == "on"
            assert "The disk is full." in site.snapshot()["banner"]
            assert store.cook(site.cook.header.cook).inputs == ()
            monkeypatch.setattr(store, "write", write)
            await mark(site, MarkKind.TURN)
            async with asyncio.timeout(60):
                while site.snapshot()["banner"]:  # noqa: ASYNC110 - no event for a healed disk
                    await asyncio.sleep(0.01)
            kinds = [
                e.mark for e in store.cook(site.cook.header.cook).inputs if isinstance(e, Mark)
            ]
            assert kinds == [MarkKind.ON, MarkKind.TURN]


async def test_a_cook_that_nobody_touched_makes_room_for_changed_settings(
    path: Path, clock: RecordedClock
) -> None:
    lower = changed(OPTIONS.usual.steaks[0], pull_c=51.7)
    other = changed(OPTIONS, usual=changed(OPTIONS.usual, steaks=(lower,)))
    with Store(path) as store:
        async with running(store, clock) as site:
            old = site.cook.header.cook
            await settled(site, clock.monotonic())
    with Store(path) as store:
        async with running(store, clock) as site:
            assert site.cook.header.cook == old, "nothing changed: it goes on"
            assert site.is_resumed
    with Store(path) as store:
        site = Site(store, clock, [], other, heard_desk())
        assert site.cook.steaks["left"].settings.pull_c == 51.7
        assert not site.is_resumed
        site.close()


async def test_a_cook_that_was_touched_keeps_its_settings(path: Path, clock: RecordedClock) -> None:
    lower = changed(OPTIONS.usual.steaks[0], pull_c=51.7)
    other = changed(OPTIONS, usual=changed(OPTIONS.usual, steaks=(lower,)))
    with Store(path) as store:
        async with running(store, clock) as site:
            await mark(site, MarkKind.LIT)
    with Store(path) as store:
        site = Site(store, clock, [], other, heard_desk())
        assert site.cook.steaks["left"].settings.pull_c == OPTIONS.usual.steaks[0].pull_c
        assert site.is_resumed
        site.close()


async def test_a_cook_left_on_for_hours_is_closed_not_resumed(
    path: Path, clock: RecordedClock
) -> None:
    with Store(path) as store:
        async with running(store, clock) as site:
            await mark(site, MarkKind.ON)
            old = site.cook.header.cook
    clock.advance_to(5 * 3600.0)
    with Store(path) as store:
        async with running(store, clock) as site:
            assert site.cook.header.cook != old
            assert store.cooks()[0].ended is not None


async def test_a_site_that_goes_on_with_no_cook_ends_the_one_before(
    path: Path, clock: RecordedClock
) -> None:
    with Store(path) as store:
        async with running(store, clock) as site:
            await mark(site, MarkKind.ON)
            old = site.cook.header.cook
    with Store(path) as store:
        site = Site(store, clock, [], changed(OPTIONS, goes_on=False), heard_desk())
        assert site.cook.header.cook != old
        assert not site.is_resumed
        assert [entry.id for entry in store.cooks() if entry.ended is not None] == [old]
        site.close()


async def test_pages_are_told_when_a_planned_act_has_lapsed(
    path: Path, clock: RecordedClock
) -> None:
    with Store(path) as store:
        async with running(store, clock) as site:
            await mark(site, MarkKind.ON, "left")
            await let_run(site, clock, 135.0)  # the turn was due at two minutes
            listener = site.hub.join()
            await let_run(site, clock, 145.0)
            told = [json.loads(line) for line in drained(listener)]
    assert [one["next"]["mark"] for one in told if one["type"] == "steak"] == ["flip"]


def drained(listener: Listener) -> list[str]:
    lines = []
    while not listener.queue.empty():
        lines.append(listener.queue.get_nowait() or "{}")
    return lines


async def test_the_coming_calls_are_pushed_ahead(path: Path, clock: RecordedClock) -> None:
    with Store(path) as store:
        async with running(store, clock) as site:
            await mark(site, MarkKind.ON)
            await let_run(site, clock, 100.0)
            coming = [(c["call"], c["steaks"]) for c in site.snapshot()["schedule"]]
            assert coming[:2] == [("turn", ["left"]), ("turn", ["right"])]
            assert [call for call, steaks in coming if steaks == ["left"]][1:] == [
                "pull_soon",
                "pull_soon",
                "pull_soon",
                "pull_now",
            ]


async def test_a_duration_set_by_hand_stays_from_cook_to_cook(
    path: Path, clock: RecordedClock
) -> None:
    with Store(path) as store:
        async with running(store, clock) as site:
            await site.take(lambda t: Setting(t, None, "durations.walk", "60/120"))
            for _ in range(3):
                await site.begin(None)
                assert site.cook.setup.durations == {"walk": Range(60.0, 120.0)}


async def test_what_was_taught_goes_and_what_was_changed_of_it_by_hand_stays(
    path: Path, clock: RecordedClock
) -> None:
    walk, box = Range(100.0, 200.0), Range(50.0, 60.0)
    taught = Lessons(reaction_s=3.0, durations=("walk", "box"))
    usual = changed(OPTIONS.usual, durations={"walk": walk, "box": box}, lessons=taught)
    cook = Cook(changed(usual, cook="c", started="2026-06-13T13:40:00+00:00"))
    cook.apply(Setting(1.0, None, "durations.box", "70/80"))
    after = like_before(cook, OPTIONS.usual, OPTIONS.usual.steaks)
    assert after.durations == {"box": Range(70.0, 80.0)}
    assert after.lessons == Lessons()
