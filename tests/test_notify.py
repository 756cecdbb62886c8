"""The service manager hears that the daemon is ready, that its call loop lives, that it stops."""

from __future__ import annotations

import asyncio
import os
import secrets
import threading
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from pullcall import notify
from pullcall.clock import RecordedClock
from pullcall.events import Mark, MarkKind
from pullcall.log.store import Store
from pullcall.notify import Watchdog
from pullcall.site.announcer import Announcer
from pullcall.site.live import Site
from pullcall.site.options import SiteOptions
from tests.desk import heard_desk
from tests.fake_manager import FakeManager, managed
from tests.integration.daemon import daemon, free_port

PING = "WATCHDOG=1"


@pytest.fixture
def clock() -> RecordedClock:
    return RecordedClock(datetime(2026, 6, 13, 13, 40, tzinfo=UTC))


@pytest.fixture
def manager(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[FakeManager]:
    """One that wants a ping each ten seconds."""
    with managed(monkeypatch, tmp_path / "notify", watchdog_s=10.0) as one:
        yield one


def test_each_message_is_one_datagram(manager: FakeManager) -> None:
    notify.ready()
    notify.status("It is\nready.")
    notify.stopping()
    assert manager.heard() == ["READY=1", "STATUS=It is ready.", "STOPPING=1"]


def test_an_abstract_socket_is_reached(monkeypatch: pytest.MonkeyPatch) -> None:
    with managed(monkeypatch, f"@pullcall-{secrets.token_hex(8)}") as manager:
        notify.ready()
        assert manager.heard() == ["READY=1"]


@pytest.mark.parametrize("address", ["", "/none/there", "@", "relative", "/" + 200 * "x"])
def test_without_a_manager_nothing_happens(monkeypatch: pytest.MonkeyPatch, address: str) -> None:
    monkeypatch.setenv("NOTIFY_SOCKET", address)
    notify.ready()
    notify.status("\udcff cannot be written")


def test_a_manager_that_does_not_listen_is_not_waited_for(manager: FakeManager) -> None:
    for _ in range(2000):  # more than a socket holds
        notify.ready()
    assert 0 < len(manager.heard()) < 2000


def test_pings_keep_a_quarter_of_the_time_allowed(
    clock: RecordedClock, manager: FakeManager
) -> None:
    watchdog = Watchdog(clock)
    pinged = []
    for second in range(10):
        clock.advance_to(float(second))
        watchdog.passed()
        pinged += [second] * len(manager.heard())
    assert pinged == [0, 3, 6, 9]


@pytest.mark.parametrize("allowed", ["", "0", "-5", "soon"])
def test_nobody_is_pinged_who_does_not_wait_for_it(
    clock: RecordedClock, manager: FakeManager, monkeypatch: pytest.MonkeyPatch, allowed: str
) -> None:
    monkeypatch.setenv("WATCHDOG_USEC", allowed)
    Watchdog(clock).passed()
    assert manager.heard() == []


def test_only_the_process_that_is_watched_pings(
    clock: RecordedClock, manager: FakeManager, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("WATCHDOG_PID", str(os.getpid() + 1))
    Watchdog(clock).passed()
    assert manager.heard() == []
    monkeypatch.setenv("WATCHDOG_PID", str(os.getpid()))
    Watchdog(clock).passed()
    assert manager.heard() == [PING]


class Life:
    """A site whose call loop is watched, on a clock that the test moves."""

    def __init__(self, store: Store, clock: RecordedClock, manager: FakeManager) -> None:
        self.site = Site(
            store, clock, [], SiteOptions(), heard_desk(), on_pass=Watchdog(clock).passed
        )
        self._clock = clock
        self._manager = manager
        self._running = asyncio.create_task(self.site.run())

    async def pings(self, seconds: int) -> int:
        """How often it pings in so many seconds in which its loop goes round."""
        for _ in range(seconds):
            self._clock.advance_to(self._clock.monotonic() + 1.0)
            async with asyncio.timeout(60):
                while self.site.cook.next_tick <= self.site.now():  # noqa: ASYNC110
                    await asyncio.sleep(0)
            await asyncio.sleep(0.002)
        return self._manager.heard().count(PING)

    async def pings_stuck(self, seconds: int) -> int:
        """How often it pings in so many seconds, every other task having time to run."""
        for _ in range(seconds):
            self._clock.advance_to(self._clock.monotonic() + 1.0)
            for _ in range(20):
                await asyncio.sleep(0.001)
        return self._manager.heard().count(PING)

    async def end(self) -> None:
        self._running.cancel()
        await asyncio.gather(self._running, return_exceptions=True)
        self.site.close()


async def test_a_loop_that_waits_for_its_next_second_is_not_hung(
    tmp_path: Path, clock: RecordedClock, manager: FakeManager
) -> None:
    with Store(tmp_path / "cooks.db") as store:
        life = Life(store, clock, manager)
        assert await life.pings(12) == 4
        await life.end()


class Disk:
    """Stands still from the first touch until it is let go."""

    def __init__(self) -> None:
        self._touched, self._works = threading.Event(), threading.Event()

    def under(self, act: Callable[..., None]) -> Callable[..., None]:
        def slowly(*given: object) -> None:
            self._touched.set()
            self._works.wait(30)
            act(*given)

        return slowly

    async def touched(self) -> None:
        assert await asyncio.to_thread(self._touched.wait, 20)

    def let_go(self) -> None:
        self._works.set()


async def test_a_disk_that_stalls_stops_no_ping_for_the_calls_go_on(
    tmp_path: Path, clock: RecordedClock, manager: FakeManager, monkeypatch: pytest.MonkeyPatch
) -> None:
    with Store(tmp_path / "cooks.db") as store:
        life, disk = Life(store, clock, manager), Disk()
        await life.pings(1)
        monkeypatch.setattr(store, "write", disk.under(store.write))
        await life.site.take(lambda t: Mark(t, None, MarkKind.LIT, "m1"))
        await disk.touched()
        assert await life.pings(12) == 4
        disk.let_go()
        await life.end()


async def test_a_new_cook_on_a_disk_that_stalls_begins_and_stops_no_ping(
    tmp_path: Path, clock: RecordedClock, manager: FakeManager, monkeypatch: pytest.MonkeyPatch
) -> None:
    with Store(tmp_path / "cooks.db") as store:
        life, disk = Life(store, clock, manager), Disk()
        await life.pings(1)
        before = life.site.cook
        monkeypatch.setattr(store, "write", disk.under(store.write))
        await life.site.begin(None)
        assert life.site.cook is not before
        assert await life.pings(12) >= 4
        disk.let_go()
        await life.end()


async def test_a_loop_stuck_in_itself_pings_no_more(
    tmp_path: Path, clock: RecordedClock, manager: FakeManager, monkeypatch: pytest.MonkeyPatch
) -> None:
    with Store(tmp_path / "cooks.db") as store:
        life, reached = Life(store, clock, manager), asyncio.Event()
        await life.pings(1)

        async def never(announcer: Announcer, effects: object) -> None:
            reached.set()
            await asyncio.Event().wait()

        monkeypatch.setattr(Announcer, "announce", never)
        clock.advance_to(clock.monotonic() + 1.0)
        await asyncio.wait_for(reached.wait(), 20)
        assert await life.pings_stuck(12) == 0
        await life.end()


@pytest.mark.integration
async def test_a_real_daemon_is_ready_lives_and_stops(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    config = tmp_path / "pullcall.toml"
    config.write_text("[bluetooth]\nenabled = false\n[loudspeaker]\nenabled = false\n")
    log = ("--log", str(tmp_path / "cooks.db"))
    with managed(monkeypatch, tmp_path / "notify", watchdog_s=2.0) as manager:
        async with daemon("serve", "--config", str(config), *log, port=free_port()) as site:
            said = manager.until("READY=1", 20)
            assert any(line.startswith("STATUS=The page is at http://") for line in said)
            manager.until(PING, 20)
            site.process.terminate()
            manager.until("STOPPING=1", 20)
            assert await asyncio.wait_for(site.process.wait(), 20) == 0
