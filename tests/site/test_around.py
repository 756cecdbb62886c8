"""What a live site does about its surroundings: faults, outlets, proposals, the clock."""

from __future__ import annotations

import asyncio
import math
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from pullcall.clock import RecordedClock
from pullcall.errors import RefusedError
from pullcall.events import (
    Acknowledgement,
    CallKind,
    Condition,
    CookHeader,
    Fault,
    Mark,
    MarkKind,
    Restart,
    SteakSettings,
)
from pullcall.log.store import Store
from pullcall.site.live import Site
from pullcall.site.options import SiteOptions
from pullcall.sources.sink import ChannelReading
from tests.desk import KeptSpeaker, desk_with
from tests.site.at_work import at_work

STARTED = datetime(2026, 6, 13, 13, 40, tzinfo=UTC)
USUAL = CookHeader("", "", (SteakSettings("left", channel="p/1"),))
OPTIONS = SiteOptions(boot="boot-1", usual=USUAL)


@asynccontextmanager
async def running(
    store: Store, clock: RecordedClock, speaker: KeptSpeaker, options: SiteOptions = OPTIONS
) -> AsyncIterator[Site]:
    site = Site(store, clock, [], options, desk_with(speaker), trust=lambda: False)
    async with at_work(site):
        yield site


async def until(holds: Callable[[], object]) -> None:
    async with asyncio.timeout(60):
        while not holds():  # noqa: ASYNC110 - the site has no event for it
            await asyncio.sleep(0.01)


async def let_run(
    site: Site, clock: RecordedClock, end: float, core_c: Callable[[float], float]
) -> None:
    """A reading each second, and everything up to it done."""
    while clock.monotonic() < end:
        now = clock.monotonic() + 1.0
        clock.advance_to(now)
        site.reading(ChannelReading("p/1", core_c(now), now))
        await until(lambda now=now: site.cook.next_tick > now)  # type: ignore[misc]


async def put_on(site: Site) -> None:
    await site.take(lambda t: Mark(t, None, MarkKind.ON, "on"))


@pytest.fixture
def clock() -> RecordedClock:
    return RecordedClock(STARTED)


async def test_a_failing_speaker_is_entered_as_a_fault_and_its_return_ends_it(
    tmp_path: Path, clock: RecordedClock
) -> None:
    speaker = KeptSpeaker()
    with Store(tmp_path / "cooks.db") as store:
        async with running(store, clock, speaker) as site:
            await put_on(site)
            speaker.is_broken = True
            await until(lambda: (Fault.UNHEARD, "") in site.cook.faults())
            await let_run(site, clock, 30.0, lambda t: 10.0)
            assert CallKind.UNHEARD in {call.call for call in speaker.said()}
            speaker.is_broken = False
            await until(lambda: (Fault.UNHEARD, "") not in site.cook.faults())
        logged = store.cook(site.cook.header.cook).inputs
    found = [event for event in logged if isinstance(event, Condition)]
    conditions = [event for event in found if event.fault is Fault.UNHEARD]
    assert [condition.active for condition in conditions] == [True, False]


async def test_calls_reach_the_outlets_and_an_answer_silences_them(
    tmp_path: Path, clock: RecordedClock
) -> None:
    speaker = KeptSpeaker()
    with Store(tmp_path / "cooks.db") as store:
        async with running(store, clock, speaker) as site:
            await put_on(site)
            await let_run(site, clock, 100.0, lambda t: min(30.0 + 0.3 * t, 54.5))
            (now, *_) = (c for c in speaker.said() if c.call is CallKind.PULL_NOW)
            await site.take(lambda t: Acknowledgement(t, now.id, "phone"))
            assert now.id in speaker.silenced


async def test_a_probe_that_left_the_meat_takes_the_steak_off_in_time_and_undo_finds_it(
    tmp_path: Path, clock: RecordedClock
) -> None:
    def core(t: float) -> float:
        if t < 300.0:
            return 53.0 - 0.05 * (300.0 - t)
        return 22.0 + 31.0 * math.exp(-(t - 300.0) / 8.0)

    with Store(tmp_path / "cooks.db") as store:
        async with running(store, clock, KeptSpeaker()) as site:
            await put_on(site)
            await let_run(site, clock, 345.0, core)
            (off,) = (p for p in site.cook.proposals() if p.mark is MarkKind.OFF)
            assert off.confirm_t is not None
            assert "off" in {p["mark"] for p in site.snapshot()["proposals"]}
            await let_run(site, clock, 390.0, core)
            await until(lambda: site.cook.steaks["left"].off_t)
            assert site.cook.steaks["left"].off_t == pytest.approx(300.0, abs=8.0)
            mark = site.cook.history.marks()[-1]
            assert site.snapshot()["marks"][-1]["id"] == mark.id


async def test_a_call_nobody_sounded_is_shown_again_insistently(
    tmp_path: Path, clock: RecordedClock
) -> None:
    with Store(tmp_path / "cooks.db") as store:
        speaker = KeptSpeaker()
        async with running(store, clock, speaker) as site:
            await put_on(site)
            speaker.is_broken = True
            await let_run(site, clock, 82.0, lambda t: 30.0 + 0.3 * t)
            assert CallKind.PULL_NOW in {call.call for call in speaker.said()}
            listener = site.hub.join()

            def insistent() -> bool:
                lines = [listener.queue.get_nowait() for _ in range(listener.queue.qsize())]
                return any(
                    '"pull_now"' in (ln or "") and '"insistent":true' in (ln or "") for ln in lines
                )

            await until(insistent)


async def test_a_time_given_by_the_cook_is_trusted_from_then_on(
    tmp_path: Path, clock: RecordedClock
) -> None:
    options = SiteOptions(boot="boot-1", usual=USUAL, window="15:00-15:30")
    with Store(tmp_path / "cooks.db") as store:
        async with running(store, clock, KeptSpeaker(), options) as site:
            checks = {c["name"]: c["ok"] for c in site.snapshot()["readiness"]}
            assert checks["clock"] is False
            before = site.snapshot()["cook"]["window_t"]
            await site.set_clock(STARTED + timedelta(minutes=10))
            assert {c["name"]: c["ok"] for c in site.snapshot()["readiness"]}["clock"] is True
            after = site.snapshot()["cook"]["window_t"]
            assert before[0] - after[0] == pytest.approx(600.0, abs=1.0)
            with pytest.raises(RefusedError):
                await site.set_clock(datetime(2026, 6, 13, 14))  # noqa: DTZ001 - that is the point


async def test_a_window_of_the_configuration_is_the_next_of_that_name(
    tmp_path: Path, clock: RecordedClock
) -> None:
    local = STARTED.astimezone()
    name = f"{(local + timedelta(hours=1)):%H:%M}-{(local + timedelta(hours=1, minutes=30)):%H:%M}"
    options = SiteOptions(boot="boot-1", usual=USUAL, window=name)
    with Store(tmp_path / "cooks.db") as store:
        async with running(store, clock, KeptSpeaker(), options) as site:
            assert site.snapshot()["cook"]["window_t"] == (3600.0, 5400.0)


async def test_a_cook_taken_up_again_sounds_what_nobody_answered(
    tmp_path: Path, clock: RecordedClock
) -> None:
    with Store(tmp_path / "cooks.db") as store:
        async with running(store, clock, KeptSpeaker()) as site:
            await put_on(site)
            await let_run(site, clock, 100.0, lambda t: min(30.0 + 0.3 * t, 54.5))
        speaker = KeptSpeaker()
        async with running(store, clock, speaker) as site:
            clock.advance_to(clock.monotonic() + 2.0)
            await until(lambda: speaker.bursts)
            assert {c.call for c in speaker.said()} & {CallKind.PULL_NOW, CallKind.OVER}
            logged = store.cook(site.cook.header.cook).inputs
            assert any(isinstance(event, Restart) for event in logged)
