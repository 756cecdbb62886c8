"""What a site does on a disk that cannot be written, or hangs: each trial prints nothing if well.

Begun with the library of :mod:`pullcall.simulators.disk`, as
``python -m tests.site.disk_trials TRIAL FOLDER``.
"""

from __future__ import annotations

import asyncio
import errno
import sys
import threading
from collections.abc import AsyncIterator, Callable, Coroutine
from contextlib import asynccontextmanager
from datetime import datetime
from ipaddress import ip_address
from pathlib import Path
from typing import Any

from pullcall.access.access import Access
from pullcall.access.records import Sight
from pullcall.access.role import Role
from pullcall.clock import RealClock, RecordedClock
from pullcall.events import Fault, Mark, MarkKind
from pullcall.log.live_store import LiveStore
from pullcall.log.spill import spill_beside
from pullcall.log.spill_file import SpillFile
from pullcall.log.store import Store
from pullcall.network.addresses import Address
from pullcall.simulators.disk.failing_disk import FailingDisk, Kind
from pullcall.site import ledger
from pullcall.site.live import Site
from pullcall.sources.sink import ChannelReading
from pullcall.tls import watching
from pullcall.tls.files import CertificateFiles
from pullcall.tls.keeper import CertificateKeeper
from tests.desk import KeptSpeaker, desk_with
from tests.site.at_work import at_work
from tests.site.short_cook import OPTIONS, START, recorded

WRITING = Kind.WRITES | Kind.SYNCS | Kind.OPENINGS
ledger._RETRY_S = 0.01
watching.LOOK_S = 0.01


@asynccontextmanager
async def site_at(log: Path, clock: RecordedClock, now: datetime = START) -> AsyncIterator[Site]:
    """A site that runs."""
    with LiveStore(log, now) as store:
        site = Site(store, clock, [], OPTIONS, desk_with(KeptSpeaker()), lambda: True)
        async with at_work(site):
            yield site


async def mark(site: Site, kind: MarkKind) -> None:
    """What a person enters."""
    await site.take(lambda t: Mark(t, None, kind, str(kind)))


async def until(is_so: Callable[[], bool]) -> None:
    """Wait for it."""
    async with asyncio.timeout(60):
        while not is_so():  # noqa: ASYNC110 - what is waited for has no event
            await asyncio.sleep(0.005)


def marks(log: Path) -> list[str]:
    """The marks of the latest cook in the log."""
    with Store(log, reads_only=True) as store:
        inputs = store.cook(store.cooks()[-1].id).inputs
    return [str(event.mark) for event in inputs if isinstance(event, Mark)]


async def becomes_read_only(folder: Path) -> None:
    """The file system is remounted read only while a cook runs, and comes back."""
    disk, log, clock = FailingDisk(folder), folder / "cooks.db", RecordedClock(START)
    async with site_at(log, clock) as site:
        await mark(site, MarkKind.ON)
        disk.fail(WRITING, errno.EROFS, 0)
        await mark(site, MarkKind.TURN)
        banner = site.snapshot()["banner"] or ""
        assert "not being recorded" in banner and "memory" in banner, banner
        await until(lambda: Fault.RECORDER in {fault for fault, _ in site.cook.faults()})
        assert marks(log) == ["on"]
        disk.heal()
        await recorded(site)
        assert site.snapshot()["banner"] is None
    assert marks(log) == ["on", "turn"]


async def is_read_only_at_the_start(folder: Path) -> None:
    """A cook that ran is gone on with from a disk that is read only by then, with what spilled."""
    disk, log, clock = FailingDisk(folder), folder / "cooks.db", RecordedClock(START)
    async with site_at(log, clock) as site:
        await mark(site, MarkKind.ON)
        id = site.cook.header.cook
        disk.fail(WRITING, errno.EROFS, 0)
        await mark(site, MarkKind.TURN)
    assert marks(log) == ["on"]
    async with site_at(log, clock) as site:
        assert site.is_resumed and site.cook.header.cook == id
        assert [m["mark"] for m in site.snapshot()["marks"]] == ["on", "turn"]
        assert "not being recorded" in (site.snapshot()["banner"] or "")
        await mark(site, MarkKind.FLIP)
    async with site_at(log, clock) as site:
        seen = [m["mark"] for m in site.snapshot()["marks"]]
        assert seen == ["on", "turn", "flip"], (seen, site.is_resumed)
        disk.heal()
        await mark(site, MarkKind.BASTE)
        await recorded(site)
    assert marks(log) == ["on", "turn", "flip", "baste"]
    assert not SpillFile(spill_beside(log)).read()


async def never_could_be_written(folder: Path) -> None:
    """A first start on a disk that is read only: a cook begins all the same, and is kept."""
    disk, log, clock = FailingDisk(folder), folder / "cooks.db", RecordedClock(START)
    disk.fail(WRITING, errno.EROFS, 0)
    async with site_at(log, clock) as site:
        await mark(site, MarkKind.ON)
        await site.begin(None)
        await mark(site, MarkKind.ON)
        assert "not being recorded" in (site.snapshot()["banner"] or "")
    async with site_at(log, clock) as site:
        assert site.is_resumed
        disk.heal()
        await mark(site, MarkKind.TURN)
        await recorded(site)
    assert marks(log) == ["on", "turn"]
    with Store(log, reads_only=True) as store:
        assert [entry.ended is None for entry in store.cooks()] == [False, True]


async def hangs(folder: Path) -> None:
    """Nothing that touches the disk returns for a while: the cook goes on, people are answered."""
    disk, log, clock = FailingDisk(folder), folder / "cooks.db", RecordedClock(START)
    access = Access(clock, folder / "cooks.paired.json")
    async with site_at(log, clock) as site:
        await mark(site, MarkKind.ON)
        disk.hold(on=True)
        await mark(site, MarkKind.TURN)
        for second in range(1, 6):
            clock.advance_to(float(second))
            site.reading(ChannelReading("p/1", 40.0, float(second)))
            await until(lambda now=second: site.cook.stamp(0.0) >= now)  # type: ignore[misc]
        assert "The disk is slow" in (site.snapshot()["banner"] or "")
        access.invite(Role.COOK, "", None, Sight())
        saved = asyncio.create_task(access.saved())
        begun = asyncio.create_task(site.begin(None))
        await begun
        await mark(site, MarkKind.ON)
        assert not saved.done()
        disk.hold(on=False)
        await recorded(site)
        await saved
    with Store(log, reads_only=True) as store:
        assert len(store.cooks()) == 2
    assert marks(log) == ["on"]


async def is_left_to_threads(folder: Path) -> None:
    """Once it runs, the loop's own thread never touches the log's disk."""
    log, clock = folder / "cooks.db", RecordedClock(START)
    access = Access(clock, folder / "cooks.paired.json")
    async with site_at(log, clock) as site:
        disk = FailingDisk(folder)
        await mark(site, MarkKind.ON)
        for second in range(1, 6):
            clock.advance_to(float(second))
            site.reading(ChannelReading("p/1", 40.0, float(second)))
            await until(lambda now=second: site.cook.stamp(0.0) >= now)  # type: ignore[misc]
        invited = access.invite(Role.COOK, "", None, Sight())
        access.claim_secret(invited.secret, "Phone")
        await access.saved()
        await mark(site, MarkKind.OFF)
        await site.begin(None)
        await site.archive.note(site.cook.header.cook, [(None, "place", "Riverside")])
        disk.fail(Kind.WRITES, errno.ENOSPC, 0, 4)
        await mark(site, MarkKind.ON)
        await recorded(site)
        assert disk.on_main == 0, disk.last_on_main


async def leaves_the_certificate_to_threads(folder: Path) -> None:
    """The page's certificate, this site's or the cook's own, is looked after beside the loop,
    which goes on while the disk hangs."""
    address, asked = "192.168.1.20", asyncio.Event()
    loop = asyncio.get_running_loop()

    def addresses() -> tuple[Address, ...]:
        loop.call_soon_threadsafe(asked.set)
        return (ip_address(address),)

    keeper = CertificateKeeper(folder, ["grill"], RealClock(), addresses)
    kept = folder / "leaf.pem"
    files, before = CertificateFiles(kept, kept, RealClock()), kept.read_bytes()
    disk = FailingDisk(folder)
    disk.hold(on=True)
    at_the_latest = threading.Timer(10.0, disk.hold, (False,))  # a loop that hangs cannot
    at_the_latest.start()
    looking = [asyncio.create_task(one.watch()) for one in (keeper, files)]
    await asyncio.sleep(0)  # a new address is there at the first look
    address = "192.168.1.21"
    asked.clear()
    await asked.wait()
    disk.hold(on=False)
    at_the_latest.cancel()
    await asyncio.to_thread(_until_other, kept, before)
    for one in looking:
        one.cancel()
    await asyncio.gather(*looking, return_exceptions=True)
    assert disk.on_main == 0, disk.last_on_main


def _until_other(path: Path, before: bytes) -> None:
    """Wait, in a thread, until a file is another."""
    while path.read_bytes() == before:
        threading.Event().wait(0.005)


TRIALS: dict[str, Callable[[Path], Coroutine[Any, Any, None]]] = {
    trial.__name__: trial
    for trial in (
        becomes_read_only,
        is_read_only_at_the_start,
        never_could_be_written,
        hangs,
        is_left_to_threads,
        leaves_the_certificate_to_threads,
    )
}

if __name__ == "__main__":
    asyncio.run(TRIALS[sys.argv[1]](Path(sys.argv[2])))
