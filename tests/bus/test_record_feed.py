"""The cook log on its way out, with a real log and a broker that is a list."""

from __future__ import annotations

import asyncio
import errno
import json
import sqlite3
from collections.abc import AsyncIterator, Iterator
from contextlib import asynccontextmanager
from pathlib import Path

import pytest

from pullcall.bus.cook_clock import CookClock
from pullcall.bus.payloads import LARGEST
from pullcall.bus.publication import Publication
from pullcall.bus.record_feed import RecordFeed
from pullcall.clock import RealClock
from pullcall.events import Note
from pullcall.log.entries import Entry
from pullcall.log.store import Store
from tests.cooks import HEADER, ONE, on, rising

HALF_HOUR_AGO = CookClock(1800.0, 0.0)


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with Store(tmp_path / "cooks.db") as store:
        for header in (HEADER, ONE):
            store.begin(header, "boot", 0.0)
            log(store, header.cook, 40)
        yield store


def log(store: Store, cook: str, count: int, t: float = 1.0) -> None:
    store.write(Entry(cook, reading) for reading in rising("left", t, t + count / 2, 5.0, 0.1))


class Far:
    """A broker's place: takes what is sent, or hangs up after ``takes`` messages."""

    def __init__(self) -> None:
        self.taken: list[Publication] = []
        self.in_flight = self.most_in_flight = 0
        self.takes: int | None = None
        self._news = asyncio.Event()

    async def send(self, message: Publication) -> None:
        self.in_flight += 1
        self.most_in_flight = max(self.most_in_flight, self.in_flight)
        await asyncio.sleep(0)
        self.in_flight -= 1
        if self.takes is not None and len(self.taken) >= self.takes:
            raise ConnectionError
        self.taken.append(message)
        self._news.set()

    async def has(self, count: int) -> None:
        async with asyncio.timeout(60):
            while len(self.taken) < count:
                self._news.clear()
                await self._news.wait()

    def lines(self, cook: str) -> list[str]:
        return [m.payload.decode() for m in self.taken if dict(m.user)["epoch"] == cook]


def feed_of(store: Store, cook: str = HEADER.cook) -> RecordFeed:
    feed = RecordFeed("north", store.path, "broker north", RealClock())
    feed.runs(cook, HALF_HOUR_AGO)
    return feed


async def confirmed(feed: RecordFeed, store: Store, cook: str) -> None:
    """Wait until the broker has all of a cook, and of no other anything is missing."""
    last = store.records_after(cook, -1, 10_000)[-1][0]
    async with asyncio.timeout(60):
        while feed.positions() != {cook: last}:  # noqa: ASYNC110 - nobody else wants to know
            await asyncio.sleep(0.01)


@asynccontextmanager
async def publishing(feed: RecordFeed, far: Far) -> AsyncIterator[None]:
    task = asyncio.create_task(feed.publish(far.send))
    try:
        yield
    finally:
        task.cancel()
        await asyncio.gather(task, return_exceptions=True)
        await feed.keep_position()


async def test_the_cook_that_runs_is_published_whole_in_order_and_bounded(store: Store) -> None:
    far = Far()
    async with publishing(feed_of(store), far):
        await far.has(len(store.lines(HEADER.cook)))
        store.note(HEADER.cook, [Note("2026-06-13T16:00:00Z", None, "place", 1.0)])
        await far.has(len(store.lines(HEADER.cook)))
    assert far.lines(HEADER.cook) == store.lines(HEADER.cook)
    assert far.lines(ONE.cook) == []
    assert far.most_in_flight == 12


async def test_after_a_restart_only_what_is_missing_is_sent(store: Store) -> None:
    before, after = Far(), Far()
    feed = feed_of(store)
    async with publishing(feed, before):
        await confirmed(feed, store, HEADER.cook)
    log(store, HEADER.cook, 2, t=60.0)
    async with publishing(feed_of(store), after):
        await after.has(3)
    assert before.lines(HEADER.cook) + after.lines(HEADER.cook) == store.lines(HEADER.cook)


async def test_what_the_broker_did_not_confirm_is_sent_again_and_can_be_told(store: Store) -> None:
    far, feed = Far(), feed_of(store)
    far.takes = 17
    with pytest.raises(ConnectionError):
        await feed.publish(far.send)
    far.takes = None
    async with publishing(feed, far):
        await far.has(17 + 5 + len(store.lines(HEADER.cook)) - 17)
    numbers = [dict(message.user)["seq"] for message in far.taken]
    assert len(numbers) - len(set(numbers)) == 5  # what was in flight when it hung up
    once = {dict(message.user)["seq"]: message.payload.decode() for message in far.taken}
    assert list(once.values()) == store.lines(HEADER.cook)


async def test_a_cook_before_is_finished_and_then_forgotten(store: Store) -> None:
    cut, far = Far(), Far()
    cut.takes = 12
    early = feed_of(store)
    with pytest.raises(ConnectionError):
        await early.publish(cut.send)
    await early.keep_position()
    feed = feed_of(store, ONE.cook)
    async with publishing(feed, far):
        await far.has(2 * len(store.lines(ONE.cook)) - 12)
        await confirmed(feed, store, ONE.cook)
    assert far.lines(ONE.cook) == store.lines(ONE.cook)
    assert [dict(m.user)["epoch"] for m in far.taken[:20]] == [ONE.cook] * 20
    assert cut.lines(HEADER.cook)[:12] + far.lines(HEADER.cook) == store.lines(HEADER.cook)
    kept = json.loads((store.path.with_suffix(".mqtt.json")).read_text())
    assert list(kept["cooks"]) == [ONE.cook]


async def test_a_cook_that_was_deleted_stops_nothing(store: Store) -> None:
    feed = feed_of(store)
    feed.runs(ONE.cook, HALF_HOUR_AGO)
    store.end(HEADER.cook, "2026-06-13T16:00:00Z")
    store.delete(HEADER.cook)
    store.wipe()
    far = Far()
    async with publishing(feed, far):
        await far.has(len(store.lines(ONE.cook)))
    assert far.lines(ONE.cook) == store.lines(ONE.cook)


async def test_a_position_that_the_log_does_not_have_is_none(store: Store) -> None:
    store.path.with_suffix(".mqtt.json").write_text(
        '{"to": "broker north", "cooks": {"test-cook": 99999}}'
    )
    far = Far()
    async with publishing(feed_of(store), far):
        await far.has(len(store.lines(HEADER.cook)))
    assert far.lines(HEADER.cook) == store.lines(HEADER.cook)


async def test_a_log_that_is_not_there_yet_is_waited_for(tmp_path: Path) -> None:
    path, far = tmp_path / "cooks.db", Far()
    feed = RecordFeed("north", path, "broker north", RealClock())
    feed.runs(HEADER.cook, HALF_HOUR_AGO)
    async with publishing(feed, far):
        with Store(path) as store:
            store.begin(HEADER, "boot", 0.0)
            store.write([Entry(HEADER.cook, on(1.0))])
            await far.has(2)
            assert far.lines(HEADER.cook) == store.lines(HEADER.cook)


async def test_a_record_that_no_reader_would_take_is_passed_over(store: Store) -> None:
    vast = Note("2026-06-13T16:00:00Z", None, "words", "x" * LARGEST)
    store.note(HEADER.cook, [vast])
    store.write([Entry(HEADER.cook, on(99.0))])
    far = Far()
    async with publishing(feed_of(store), far):
        await far.has(len(store.lines(HEADER.cook)) - 1)
    assert far.lines(HEADER.cook)[-1] == store.lines(HEADER.cook)[-1]


async def test_records_that_are_too_large_in_bytes_are_counted_and_told_once(
    store: Store, caplog: pytest.LogCaptureFixture
) -> None:
    """A letter may take three bytes."""
    wide = Note("2026-06-13T16:00:00Z", None, "words", "\N{KATAKANA LETTER A}" * (LARGEST // 2))
    store.note(HEADER.cook, [wide])
    store.note(HEADER.cook, [wide])
    store.write([Entry(HEADER.cook, on(99.0))])
    far, feed = Far(), feed_of(store)
    async with publishing(feed, far):
        await confirmed(feed, store, HEADER.cook)
    assert max(len(message.payload) for message in far.taken) <= LARGEST
    assert len(far.taken) == len(store.lines(HEADER.cook)) - 2
    assert feed.too_large == 2
    assert caplog.messages == ["A record of more than 256 KiB is not published."]


async def test_a_position_that_a_full_disk_refused_is_written_once_there_is_room(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object, **__: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    feed, far = feed_of(store), Far()
    file = store.path.with_suffix(".mqtt.json")
    with monkeypatch.context() as disk:
        disk.setattr("pullcall.bus.position_file.replace_whole", full)
        async with publishing(feed, far):
            await confirmed(feed, store, HEADER.cook)
        assert not file.exists()
    await feed.keep_position()
    assert json.loads(file.read_text())["cooks"] == feed.positions()


async def test_of_a_log_that_cannot_be_read_the_last_count_stays_and_people_are_told(
    store: Store,
) -> None:
    feed = feed_of(store)
    await feed.count()
    waiting = feed.waiting
    assert waiting == len(store.lines(HEADER.cook))
    log(store, HEADER.cook, 2, t=60.0)
    with sqlite3.connect(store.path) as other:
        other.execute("ALTER TABLE records RENAME TO elsewhere")
        other.commit()
    await feed.count()
    assert feed.waiting == waiting
    assert feed.trouble.startswith("Records are not published for now. ")
    with sqlite3.connect(store.path) as other:
        other.execute("ALTER TABLE elsewhere RENAME TO records")
        other.commit()
    await feed.count()
    assert feed.trouble == ""
    assert feed.waiting > waiting
