"""What goes on around the calls: each part fails alone, is begun again later, and says so."""

from __future__ import annotations

import asyncio
import itertools
import logging

import pytest

from pullcall.errors import SourceError
from pullcall.supervision import Edges, Part
from tests.outlets.ears import clock, running, settle


class Failing:
    """Fails at each start with ``fault``; without one it goes on."""

    def __init__(self, fault: BaseException | None) -> None:
        self.fault = fault
        self.starts = 0

    async def run(self) -> None:
        self.starts += 1
        if self.fault is not None:
            raise self.fault
        await asyncio.Event().wait()


async def test_a_part_that_fails_leaves_the_others_and_is_begun_again_ever_later() -> None:
    time = clock()
    edges, broken, well = Edges(time), Failing(ValueError("no")), Failing(None)
    starts_at: list[int] = []
    async with running(edges.keep(Part("broken", broken.run), Part("well", well.run))):
        for second in range(100):
            before = broken.starts
            time.advance_to(float(second))
            await settle()
            starts_at += [second] * (broken.starts - before)
        assert well.starts == 1
        assert [trouble.part for trouble in edges.troubles()] == ["broken"]
        assert "a mistake (ValueError)" in edges.troubles()[0].note
        assert "within 30 s" in edges.troubles()[0].note
    assert [b - a for a, b in itertools.pairwise(starts_at)] == [1, 2, 4, 8, 16, 30, 30]


async def test_what_runs_again_is_no_trouble_any_more_and_begins_soon_after_it_worked() -> None:
    time = clock()
    edges, part = Edges(time), Failing(SourceError("Plug it in."))
    async with running(edges.keep(Part("probe", part.run))):
        await settle()
        assert edges.troubles()[0].note.startswith("Plug it in. It is tried again within 1 s")
        part.fault = None
        time.advance_to(1.0)
        await settle()
        assert edges.troubles() == ()
        assert part.starts == 2


async def test_what_to_do_is_told_also_from_within_a_group_unless_a_mistake_is_beside_it() -> None:
    time, gone = clock(), SourceError("Plug it in.")
    edges = Edges(time)
    told = Failing(ExceptionGroup("tasks", [ExceptionGroup("more", [gone])]))
    hidden = Failing(ExceptionGroup("tasks", [gone, ValueError("no")]))
    async with running(edges.keep(Part("told", told.run), Part("hidden", hidden.run))):
        await settle()
        notes = {trouble.part: trouble.note for trouble in edges.troubles()}
        assert notes["told"].startswith("Plug it in. It is tried again")
        assert "a mistake" in notes["hidden"]


async def test_a_part_that_ends_is_begun_again_and_one_with_an_end_is_not() -> None:
    time, ends = clock(), 0

    async def end() -> None:
        nonlocal ends
        ends += 1

    edges = Edges(time)
    async with running(edges.keep(Part("for ever", end))):
        await settle()
        assert ends == 1
        assert "ended" in edges.troubles()[0].note
        time.advance_to(1.0)
        await settle()
        assert ends == 2
    await edges.keep(Part("once", end, has_an_end=True))
    assert ends == 3


async def test_a_cancellation_from_inside_does_not_end_a_part_unseen() -> None:
    time = clock()
    edges, part = Edges(time), Failing(asyncio.CancelledError())
    async with running(edges.keep(Part("links", part.run))):
        await settle()
        assert "cancelled by a mistake" in edges.troubles()[0].note
        time.advance_to(1.0)
        await settle()
        assert part.starts == 2


async def test_one_that_lived_long_begins_again_with_the_shortest_wait() -> None:
    time = clock()
    edges, stop, starts = Edges(time), asyncio.Event(), 0

    async def live() -> None:
        nonlocal starts
        starts += 1
        if starts > 3:
            await stop.wait()
        raise ValueError

    async with running(edges.keep(Part("long", live))):
        for moment in (0.0, 1.0, 3.0, 7.0):
            time.advance_to(moment)
            await settle()
        assert starts == 4
        time.advance_to(70.0)
        stop.set()
        await settle()
        assert "within 1 s" in edges.troubles()[0].note


async def test_what_goes_wrong_after_a_long_life_is_told_anew_and_not_taken_for_working(
    caplog: pytest.LogCaptureFixture,
) -> None:
    time = clock()
    edges, stop = Edges(time), asyncio.Event()

    async def live() -> None:
        await stop.wait()
        stop.clear()
        raise SourceError("Plug it in.")

    with caplog.at_level(logging.INFO, "pullcall.supervision"):
        async with running(edges.keep(Part("long", live))):
            for moment in (70.0, 71.0, 141.0):
                await settle()
                time.advance_to(moment)
                if moment != 71.0:
                    stop.set()
                await settle()
    assert [one.getMessage()[:11] for one in caplog.records] == ["Plug it in."] * 2


def test_a_mistake_in_an_act_gives_none_and_is_shown_for_a_minute() -> None:
    time = clock()
    edges = Edges(time)
    edge = edges.edge("page")
    assert edge.guard(lambda: 7) == 7
    assert edge.guard(lambda: 1 // 0) is None
    assert "ZeroDivisionError" in edges.troubles()[0].note
    time.advance_to(60.0)
    assert edges.troubles() == ()


async def test_the_journal_has_each_kind_of_mistake_once_with_where_it_came_from(
    caplog: pytest.LogCaptureFixture,
) -> None:
    time = clock()
    edges, part = Edges(time), Failing(ExceptionGroup("group", [KeyError("x")]))
    with caplog.at_level(logging.WARNING):
        async with running(edges.keep(Part("broken", part.run))):
            for moment in (0.0, 1.0, 3.0):
                time.advance_to(moment)
                await settle()
    assert part.starts == 3
    (told,) = caplog.records
    assert told.exc_info is not None
    assert "(KeyError)" in edges.troubles()[0].note
