"""The simulated source on a recorded clock."""

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager, suppress
from dataclasses import dataclass, field
from datetime import UTC, datetime

from pullcall.clock import AcceleratedClock, RecordedClock
from pullcall.errors import RefusedError
from pullcall.events import Mark, MarkKind
from pullcall.simulators.scenario import scenario
from pullcall.simulators.source import SimulatedSource
from pullcall.sources.sink import ChannelReading, LinkState, Source

STARTED = datetime(2026, 6, 13, 13, 40, tzinfo=UTC)


@dataclass
class Kept:
    """A sink and the two callbacks, keeping all they get."""

    readings: list[ChannelReading] = field(default_factory=list)
    marks: list[tuple[MarkKind, str | None]] = field(default_factory=list)
    spots: list[tuple[str, float]] = field(default_factory=list)

    def reading(self, reading: ChannelReading) -> None:
        self.readings.append(reading)

    async def on_mark(self, mark: MarkKind, steak: str | None) -> None:
        self.marks.append((mark, steak))

    async def on_spot(self, steak: str, celsius: float) -> None:
        self.spots.append((steak, celsius))


@asynccontextmanager
async def running(source: Source, kept: Kept) -> AsyncIterator[None]:
    task = asyncio.create_task(source.run(kept))
    await asyncio.sleep(0)
    try:
        yield
    finally:
        task.cancel()
        with suppress(asyncio.CancelledError):
            await task


async def advance(clock: RecordedClock, to: float) -> None:
    """Move on in small steps, letting the source work at each."""
    now = clock.monotonic()
    while now < to:
        now = min(to, now + 0.25)
        clock.advance_to(now)
        for _ in range(12):
            await asyncio.sleep(0)


def demo(kept: Kept, name: str = "demo") -> tuple[SimulatedSource, RecordedClock]:
    clock = RecordedClock(STARTED)
    clock.advance_to(1000.0)
    return SimulatedSource(scenario(name), clock, kept.on_mark, kept.on_spot), clock


async def test_a_source_that_is_run_again_goes_on_in_the_same_kitchen() -> None:
    kept = Kept()
    source, clock = demo(kept)
    async with running(source, kept):
        await advance(clock, 1020.0)
    before = len(kept.readings)
    async with running(source, kept):
        await advance(clock, 1021.0)
    assert len(kept.readings) > before


async def test_it_delivers_two_readings_a_second_stamped_on_the_clock() -> None:
    kept = Kept()
    source, clock = demo(kept)
    async with running(source, kept):
        await advance(clock, 1060.0)
    for channel in ("simulated-1/0", "simulated-2/0"):
        times = [r.at for r in kept.readings if r.channel == channel]
        assert 116 <= len(times) <= 124
        assert times == sorted(times)
        assert times[0] >= 1000.0
        assert times[-1] <= 1060.0


async def test_it_delivers_what_the_cook_does() -> None:
    kept = Kept()
    source, clock = demo(kept)
    async with running(source, kept):
        await advance(clock, 1030.0)
    assert kept.marks == [
        (MarkKind.LID_OPEN, None),
        (MarkKind.ON, "left"),
        (MarkKind.ON, "right"),
        (MarkKind.LID_CLOSE, None),
    ]


async def test_a_mark_told_back_to_it_is_not_done_twice_and_a_tap_is_heard() -> None:
    kept = Kept()
    source, clock = demo(kept)

    async def echo(kind: MarkKind, steak: str | None) -> None:
        await kept.on_mark(kind, steak)
        source.hear(Mark(clock.monotonic(), steak, kind))

    source = SimulatedSource(source.scenario, clock, echo)
    async with running(source, kept):
        await advance(clock, 1150.0)
        source.hear(Mark(150.0, "left", MarkKind.FLIP))
        await advance(clock, 1300.0)
    flips = [steak for kind, steak in kept.marks if kind is MarkKind.FLIP]
    assert flips == ["right"]
    assert [s for k, s in kept.marks if k is MarkKind.ON] == ["left", "right"]


async def test_a_mark_of_a_steak_that_is_not_in_the_kitchen_changes_nothing() -> None:
    kept = Kept()
    source, clock = demo(kept)
    async with running(source, kept):
        source.hear(Mark(0.0, "of another cook", MarkKind.ON))
        await advance(clock, 5.0)
    assert kept.marks == []


async def test_a_refused_mark_does_not_stop_the_readings() -> None:
    kept = Kept()
    clock = RecordedClock(STARTED)

    async def refuse(kind: MarkKind, steak: str | None) -> None:
        raise RefusedError("Put the steak on first.")

    source = SimulatedSource(scenario("demo"), clock, refuse)
    async with running(source, kept):
        await advance(clock, 40.0)
    assert kept.readings[-1].at > 39.0


async def test_its_probes_say_that_they_are_simulated_and_how_they_are() -> None:
    kept = Kept()
    source, clock = demo(kept)
    assert [probe.state for probe in source.probes()] == [LinkState.SEARCHING] * 3
    async with running(source, kept):
        await advance(clock, 1010.0)
        left, right, grate = source.probes()
    assert left.standard == right.standard == "simulated"
    assert left.state is right.state is LinkState.STREAMING
    assert (left.battery_percent, right.battery_percent) == (87, 64)
    assert left.celsius == [r for r in kept.readings if r.channel == left.channel][-1].celsius
    assert grate.celsius is not None and grate.celsius > 230.0
    assert left.age_s is not None
    assert left.age_s <= 0.6
    clock.advance_to(1020.0)
    assert source.probes()[0].state is LinkState.STALE
    assert source.adapter() is None


async def test_spot_checks_reach_their_callback() -> None:
    kept = Kept()
    source, clock = demo(kept, "spots")
    async with running(source, kept):
        await advance(clock, 1360.0)
    assert [steak for steak, _ in kept.spots] == ["left", "right", "left"]
    assert kept.readings == []


async def test_telling_the_cook_to_pull_takes_the_steak_off() -> None:
    kept = Kept()
    source, clock = demo(kept)
    async with running(source, kept):
        await advance(clock, 1100.0)
        source.told_to_pull("right")
        await advance(clock, 1112.0)
    assert (MarkKind.OFF, "right") in kept.marks


async def test_it_runs_faster_than_life_on_an_accelerated_clock() -> None:
    kept = Kept()
    clock = AcceleratedClock(600.0, STARTED)
    turned = asyncio.Event()

    async def until_turned(kind: MarkKind, steak: str | None) -> None:
        if kind is MarkKind.TURN:
            turned.set()

    source = SimulatedSource(scenario("demo"), clock, until_turned)
    async with running(source, kept):
        await asyncio.wait_for(turned.wait(), 20.0)
    assert kept.readings[-1].at > 125.0


async def test_another_cook_starts_from_cold_steaks_at_its_own_zero() -> None:
    kept = Kept()
    source, clock = demo(kept)
    async with running(source, kept):
        await advance(clock, 1200.0)
        assert kept.marks.count((MarkKind.ON, "left")) == 1
        warm = kept.readings[-1].celsius
        source.begin_again(scenario("demo", 2))
        await advance(clock, 1205.0)
        assert kept.readings[-1].celsius < min(warm, 20.0)
        await advance(clock, 1240.0)
    assert kept.marks.count((MarkKind.ON, "left")) == 2
