"""A live site at whose log the core fails: it comes back, says so, and calls."""

from __future__ import annotations

import asyncio
import json
import math
from collections.abc import AsyncIterator, Callable, Iterable
from contextlib import asynccontextmanager
from dataclasses import replace as changed
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from pullcall.clock import RecordedClock
from pullcall.core.cook import Cook
from pullcall.errors import LogError, RefusedError
from pullcall.events import (
    Call,
    CookHeader,
    Input,
    Mark,
    MarkKind,
    Setting,
    Spot,
    SteakSettings,
)
from pullcall.hindsight.study import study
from pullcall.log.call_records import call_record
from pullcall.log.cook_file import parse_cook_lines
from pullcall.log.entries import Entry
from pullcall.log.records import to_line
from pullcall.log.replay import replay
from pullcall.log.store import Store
from pullcall.site.live import Site
from pullcall.site.options import SiteOptions
from pullcall.sources.sink import ChannelReading
from tests.desk import heard_desk
from tests.poison import (
    POISON_C,
    PoisonedError,
    fail_after,
    fail_at,
    fail_at_each_after,
    fail_when,
    is_poisoned,
)
from tests.site.at_work import at_work

OPTIONS = SiteOptions(
    boot="boot-1", usual=CookHeader("", "", (SteakSettings("left", channel="p/1"),))
)


class Place:
    """A site that is started again and again on the same log, as a service manager would."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.clock = RecordedClock(datetime(2026, 6, 13, 13, 40, tzinfo=UTC))
        self.store_of: type[Store] = Store
        self.site: Site
        self.store: Store
        self.run: asyncio.Task[None]
        self._went = asyncio.Event()
        self._came_t = 0.0

    @asynccontextmanager
    async def started(self) -> AsyncIterator[Site]:
        """A site that runs for a block's length."""
        with self.store_of(self.path) as self.store:
            desk = heard_desk()
            self._came_t = -math.inf
            self.site = Site(
                self.store, self.clock, [], OPTIONS, desk, lambda: True, self._went_round
            )
            async with at_work(self.site) as self.run:
                self.run.add_done_callback(lambda _: self._went.set())
                yield self.site

    async def lives(self, until: float, poison_t: float | None = None) -> None:
        """Give a reading each second up to ``until``; that of ``poison_t`` is poison."""
        while (now := self.clock.monotonic() + 1.0) <= until and not self.run.done():
            self.clock.advance_to(now)
            celsius = POISON_C if now == poison_t else 40.0 + 0.06 * now
            self.site.reading(ChannelReading("p/1", celsius, now))
            await self.comes_round()

    async def comes_round(self) -> None:
        """Wait until all up to now was called, or until the site has failed."""
        async with asyncio.timeout(60):
            while self._came_t < self.site.now() and not self.run.done():
                self._went.clear()
                await self._went.wait()

    async def fails(self, make: Callable[[float], Input]) -> None:
        """Take an input that the core fails at."""
        asked = asyncio.create_task(self.site.take(make))
        await asyncio.wait({self.run}, timeout=60)
        asked.cancel()

    def _went_round(self) -> None:
        self._came_t = self.site.cook.stamp(0.0)
        self._went.set()

    def has_failed(self) -> bool:
        """Whether the core ended it."""
        if not self.run.done():
            return False
        error = self.run.exception()
        while isinstance(error, BaseExceptionGroup):
            error = error.exceptions[0]
        assert isinstance(error, PoisonedError), error
        return True

    async def cooks_on(self, until: float, most: int) -> None:
        """Start it again whenever it fails, ``most`` times at most, and live up to ``until``."""
        for _ in range(most):
            async with self.started():
                await self.lives(until)
                if not self.run.done():
                    assert self.clock.monotonic() == until
                    return
                assert self.has_failed()
            self.clock.advance_to(self.clock.monotonic() + 2.0)
        raise AssertionError(f"started {most} times, and it still fails")


@pytest.fixture
def place(tmp_path: Path) -> Place:
    return Place(tmp_path / "cooks.db")


async def put_on(site: Site) -> None:
    await site.take(lambda t: Mark(t, None, MarkKind.ON, "on"))


def calls_of(store: Store, is_left_out: Callable[[dict[str, Any]], bool]) -> list[str]:
    """The calls of the logged records without some of them, by a core that knows of nothing."""
    (entry,) = store.cooks()
    header, *lines = store.lines(entry.id)
    kept = [
        line for line in lines if '"omission"' not in line and not is_left_out(json.loads(line))
    ]
    cook = parse_cook_lines([header, *kept])
    assert len(kept) < len(lines)
    core = Cook(cook.header)
    effects = [effect for event in cook.inputs for effect in core.apply(event)]
    effects += core.advance(cook.ends_t)
    return [to_line(call_record(effect)) for effect in effects if isinstance(effect, Call)]


def replayed(store: Store) -> list[str]:
    (entry,) = store.cooks()
    return [to_line(call_record(e)) for e in replay(store.cook(entry.id)) if isinstance(e, Call)]


def logged_calls(store: Store) -> list[str]:
    (entry,) = store.cooks()
    return store.call_lines(entry.id)


def is_poison_record(record: dict[str, Any]) -> bool:
    return record.get("celsius") == POISON_C


def told(site: Site) -> list[str]:
    """What the readiness list says of what was left out."""
    checks = site.snapshot()["readiness"]
    return [check["words"] for check in checks if check["name"].startswith("left out")]


async def test_a_reading_at_which_the_core_fails_is_left_out_and_the_calls_go_on(
    place: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    fail_at(monkeypatch, is_poisoned)
    async with place.started() as site:
        await put_on(site)
        await place.lives(150.0, poison_t=150.0)
        assert place.has_failed()
    place.clock.advance_to(153.0)
    async with place.started() as site:
        assert site.is_resumed
        (words,) = told(site)
        assert words.startswith("A reading of the left probe at ")
        assert words.endswith(":42:30 could not be worked with and is left out: look at the steak")
        assert site.snapshot()["banner"] == f"{told(site)[0]}."
        await place.lives(250.0)
        store = place.store
        assert '"call":"pull_now"' in "".join(logged_calls(store))
        assert logged_calls(store) == calls_of(store, is_poison_record)
        assert logged_calls(store) == replayed(store) == replayed(store)
        assert str(POISON_C) in "".join(store.lines(site.cook.header.cook))


async def test_what_was_left_out_is_not_failed_at_again_at_a_later_start(
    place: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    fail_at(monkeypatch, is_poisoned)
    async with place.started() as site:
        await put_on(site)
        await place.lives(50.0, poison_t=50.0)
    async with place.started():
        await place.lives(60.0)
    monkeypatch.setattr("pullcall.core.inquiry.Inquiry", None)  # nobody may ask for it
    async with place.started() as site:
        assert len(told(site)) == 1
        assert site.snapshot()["banner"] is None
        await place.lives(70.0)
        assert logged_calls(place.store) == replayed(place.store)
    assert len(omissions(place)) == 1


def omissions(place: Place) -> list[str]:
    """The records of what was left out, as they are logged."""
    with Store(place.path) as store:
        lines = store.lines(store.cooks()[-1].id)
    return [line for line in lines if line.startswith('{"record":"omission"')]


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda t: Mark(t, "left", MarkKind.TURN, "m"), 'The mark "turn" of left at'),
        (lambda t: Setting(t, "left", "pull_c", 52.0), "The setting pull_c of left at"),
        (lambda t: Spot(t, "left", 45.0, "s"), "The spot of left at"),
        (lambda t: Mark(t, "left", MarkKind.TURN, "m", t - 3.0), 'The mark "turn" of left at'),
    ],
)
async def test_what_people_give_is_left_out_too_and_can_be_given_again(
    place: Place,
    monkeypatch: pytest.MonkeyPatch,
    make: Callable[[float], Mark | Setting | Spot],
    words: str,
) -> None:
    kind, poison = type(make(0.0)), [True]

    def is_poison(event: object) -> bool:
        is_one = isinstance(event, kind) and getattr(event, "mark", None) is not MarkKind.ON
        return is_one and poison[0]

    fail_at(monkeypatch, is_poison)
    async with place.started() as site:
        await put_on(site)
        await place.lives(20.0)
        await place.fails(make)
        assert place.has_failed()
    async with place.started() as site:
        assert told(site)[0].startswith(words)
        await place.lives(30.0)
        poison[0] = False
        given = await site.take(lambda t: otherwise(make(t)))
        await place.lives(40.0)
        assert not place.run.done()
        assert given in place.store.cook(site.cook.header.cook).inputs


def otherwise(event: Mark | Setting | Spot) -> Mark | Setting | Spot:
    """The same again; a setting with another value."""
    return changed(event, value=52.5) if isinstance(event, Setting) else event


async def test_a_setting_that_was_left_out_is_refused_as_it_was_and_taken_otherwise(
    place: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    fail_at(monkeypatch, lambda event: isinstance(event, Setting) and event.value == 52.0)
    async with place.started() as site:
        await put_on(site)
        await place.fails(lambda t: Setting(t, "left", "pull_c", 52.0))
    async with place.started() as site:
        with pytest.raises(RefusedError, match="failed at just this before"):
            await site.take(lambda t: Setting(t, "left", "pull_c", 52.0))
        await site.take(lambda t: Setting(t, "left", "pull_c", 52.5))
        assert not place.run.done()


async def test_two_that_lie_apart_are_both_left_out(
    place: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    fail_at(monkeypatch, is_poisoned)
    async with place.started() as site:
        await put_on(site)
        await place.lives(30.0, poison_t=30.0)
    async with place.started():
        await place.lives(140.0, poison_t=140.0)
        assert place.has_failed()
    async with place.started() as site:
        await place.lives(250.0)
        assert len(told(site)) == 2
        assert logged_calls(place.store) == calls_of(place.store, is_poison_record)
        assert logged_calls(place.store) == replayed(place.store)


async def test_several_that_were_logged_at_once_cost_one_start(
    place: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    fail_at(monkeypatch, is_poisoned)
    async with place.started() as site:
        await put_on(site)
        await place.lives(30.0)
        for later_s in (0.1, 0.2, 0.3, 0.4):
            celsius = 42.0 if later_s == 0.3 else POISON_C
            site.reading(ChannelReading("p/1", celsius, 30.0 + later_s))
        await asyncio.wait({place.run}, timeout=60)
    await place.cooks_on(100.0, most=1)
    assert len(omissions(place)) == 3
    assert all(str(POISON_C) in line for line in omissions(place))


async def test_a_reading_that_fails_at_a_second_after_it_is_found(
    place: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    fail_after(monkeypatch, is_poisoned, after_s=0.5)
    async with place.started() as site:
        await put_on(site)
        await place.lives(151.0, poison_t=150.0)
        assert place.has_failed()
    await place.cooks_on(250.0, most=1)
    with Store(place.path) as store:
        assert replayed(store) == calls_of(store, is_poison_record)
    (omission,) = omissions(place)
    assert str(POISON_C) in omission


async def test_a_reading_after_which_every_other_fails_is_found_within_a_few_starts(
    place: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    fail_at_each_after(monkeypatch, is_poisoned)
    async with place.started() as site:
        await put_on(site)
        await place.lives(100.0, poison_t=100.0)
        assert not place.run.done()
        await place.lives(101.0)
        assert place.has_failed()
    await place.cooks_on(250.0, most=3)
    assert any(str(POISON_C) in line for line in omissions(place))


async def test_a_setting_that_fails_long_after_it_is_found_and_no_mark_goes(
    place: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    fail_after(monkeypatch, lambda event: isinstance(event, Setting), after_s=40.0)
    async with place.started() as site:
        await put_on(site)
        await place.lives(50.0)
        await site.take(lambda t: Setting(t, "left", "pull_c", 52.0))
        await place.lives(100.0)
        assert place.has_failed()
    await place.cooks_on(200.0, most=1)
    async with place.started() as site:
        assert [words[:29] for words in told(site)] == ["The setting pull_c of left at"]
        assert site.snapshot()["steaks"][0]["phase"] == "on"


async def test_readings_that_together_make_it_fail_go_together(
    place: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    fail_after(monkeypatch, is_poisoned, after_s=8.0)
    async with place.started() as site:
        await put_on(site)
        await place.lives(90.0)
        for later_s in (0.1, 0.2):
            site.reading(ChannelReading("p/1", POISON_C, 90.0 + later_s))
        await place.lives(100.0)
        assert place.has_failed()
    await place.cooks_on(250.0, most=1)
    async with place.started() as site:
        (words,) = told(site)
        assert words.startswith("Everything but marks and settings from")
        assert site.snapshot()["steaks"][0]["on_t"] == 0.0
        (entry,) = place.store.cooks()
        assert place.store.call_lines(entry.id)[-1:] == replayed(place.store)[-1:]


async def test_where_nothing_helps_another_cook_is_begun_with_what_was_done(
    place: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    fail_when(monkeypatch, lambda now: now >= 100.0)
    async with place.started() as site:
        await put_on(site)
        await site.take(lambda t: Setting(t, "left", "pull_c", 52.0))
        await place.lives(60.0)
        await site.take(lambda t: Mark(t, "left", MarkKind.TURN, "turn"))
        await place.lives(110.0)
        assert place.has_failed()
        old = site.cook.header.cook
    place.clock.advance_to(105.0)
    async with place.started() as site:
        assert site.cook.header.cook != old
        assert "a new one was begun in its place" in site.snapshot()["banner"]
        (steak,) = site.snapshot()["steaks"]
        assert (steak["phase"], steak["on_t"], steak["pull_c"]) == ("on", -105.0, 52.0)
        assert [mark["at"] for mark in site.snapshot()["marks"]] == [-105.0, -44.999]
        await place.lives(200.0)
        assert not place.run.done()
        calls, cook = place.store.call_lines(site.cook.header.cook), site.cook.header.cook
        again = [
            to_line(call_record(e)) for e in replay(place.store.cook(cook)) if isinstance(e, Call)
        ]
        assert calls == again
        assert calls
        assert [entry.ended is None for entry in place.store.cooks()] == [False, True]


async def test_a_cook_that_cannot_even_be_begun_gives_way_to_the_usual_one(
    place: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    header = changed(OPTIONS.usual, cook="odd", started="2026-06-13T13:40:00+00:00", offset_s=7.0)
    with Store(place.path) as store:
        store.begin(header, "boot-1", 0.0)
        store.write([Entry("odd", Mark(1.0, None, MarkKind.ON, "on"))])
    whole = Cook.__init__

    def begin(self: Cook, header: CookHeader) -> None:
        if header.offset_s == 7.0:
            raise PoisonedError
        whole(self, header)

    monkeypatch.setattr(Cook, "__init__", begin)
    place.clock.advance_to(5.0)
    async with place.started() as site:
        (steak,) = site.snapshot()["steaks"]
        assert (steak["phase"], steak["on_t"]) == ("on", -4.0)


class FullDisk(Store):
    """Takes nothing while it is full."""

    is_full = True

    def write(self, entries: Iterable[Entry]) -> None:
        if self.is_full:
            raise LogError("The disk is full.")
        super().write(entries)


async def test_what_the_core_fails_at_is_left_out_of_what_a_failing_disk_did_not_take(
    place: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    fail_at(monkeypatch, is_poisoned)
    async with place.started() as site:
        await put_on(site)
        await place.lives(50.0)
    place.store_of = FullDisk
    async with place.started():
        await place.lives(60.0, poison_t=60.0)
        assert place.has_failed()
    async with place.started() as site:  # the disk takes neither that reading nor that it goes
        assert len(told(site)) == 1
        await place.lives(70.0)
        assert not place.run.done()
    place.store_of = Store
    async with place.started() as site:
        assert len(told(site)) == 1
        await place.lives(250.0)
        assert logged_calls(place.store) == calls_of(place.store, is_poison_record)
        assert logged_calls(place.store) == replayed(place.store)
    assert len(omissions(place)) == 1


async def test_exported_and_imported_it_replays_to_the_same_calls(
    place: Place, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    fail_at(monkeypatch, is_poisoned)
    async with place.started() as site:
        await put_on(site)
        await place.lives(60.0, poison_t=60.0)
    await place.cooks_on(250.0, most=1)
    with Store(place.path) as store, Store(tmp_path / "other.db") as other:
        calls, (entry,) = store.call_lines(store.cooks()[0].id), store.cooks()
        exported = store.lines(entry.id)
        other.bring_in(parse_cook_lines(exported), "2026-06-13T15:00:00+00:00")
        assert other.lines(entry.id) == exported
        assert replayed(other) == replayed(store) == calls
        facts = study(other.cook(entry.id), calls)
        assert facts.as_called


async def test_a_mistake_in_what_earlier_cooks_teach_keeps_none_from_beginning(
    place: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    def taught(*_: object) -> CookHeader:
        raise PoisonedError

    monkeypatch.setattr("pullcall.site.next_cook.taught", taught)
    async with place.started() as site:
        await put_on(site)
        await site.begin(None)
        assert site.snapshot()["steaks"][0]["phase"] == "waiting"
