"""Cooks of the installed daemon, killed again and again, and checked after every kill."""

from __future__ import annotations

import asyncio
import json
import shutil
import signal
import time
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from random import Random

from pullcall.events import Call
from pullcall.log.call_records import call_record
from pullcall.log.cook_file import parse_cook_lines
from pullcall.log.records import to_line
from pullcall.log.replay import replay
from pullcall.simulators.open_broker import OpenBroker
from tests.crash import wal
from tests.crash.alarms import LONG_ENOUGH_S, sounded_at, unanswered
from tests.crash.band import compare, uninterrupted
from tests.crash.feed import PROBES, Feed, quick_cook
from tests.crash.judge import Judge, changed_wrongly, scene
from tests.crash.life import Life, Message, Place, is_alive
from tests.crash.log_image import LogImage, copy_log, read_image
from tests.crash.moments import NEAR_CHECKPOINT, Moment, kill_at, log_pages
from tests.crash.person import People
from tests.crash.synced import MARKS, answers_synced
from tests.crash.tally import Tally

#: What a daemon started may outlive it by, seconds.
_ORPHANS_S = 5.0
#: A request of before is answered, or not, within this time, seconds.
_SETTLES_S = 0.5


class CrashRun:
    """``say`` is told of every kill. Nothing raises for a defect: they are counted."""

    def __init__(
        self, folder: Path, broker: OpenBroker, port: int, seed: int, say: Callable[[str], None]
    ) -> None:
        self.tally = Tally()
        self.cooks = 1
        #: Whether to end after the next kill.
        self.is_enough = False
        #: Where the first log is copied that something is wrong with.
        self.keep: Path | None = None
        self._rng = Random(seed)
        self._say = say
        self._place = Place(folder, port)
        (folder / "tmp").mkdir()
        self._place.config.write_text(_config(port, broker))
        self._feed = Feed(broker.options(), lambda mark, at: self._people.does(mark, at))
        self._people = People(self._feed, Random(seed + 1))
        self._judge = Judge(self._rng)
        self._alarms: set[str] = set()
        self._killed_at = 0.0
        self._forecasts: list[Message] = []
        self._children: list[tuple[float, int]] = []

    async def run(
        self, moments: Iterable[Moment], torn_starts: int, looks_at_syncs: bool = False
    ) -> Tally:
        """Kill it at these moments, end it in order, and start it on so many torn logs."""
        beside = [asyncio.create_task(self._feed.run())]
        try:
            await self._live()
            await self._begin_cook()
            beside.append(asyncio.create_task(self._people.run()))
            await self._kill_all(list(moments))
            await self._finish(looks_at_syncs)
        finally:
            for task in beside:
                task.cancel()
            mishaps = await asyncio.gather(*beside, return_exceptions=True)
            await self._end()
        self.tally.defects += [f"{m!r}" for m in mishaps if isinstance(m, Exception)]
        for number in range(torn_starts):
            await self._start_torn(number)
        return self.tally

    async def _kill_all(self, waiting: list[Moment]) -> None:
        """Until there is no moment left, or somebody wants to see what was found so far."""
        while waiting and not self.is_enough:
            if self._feed.is_over():
                await self._next_cook()
            await self._one_kill(self._take(waiting))

    def _take(self, waiting: list[Moment]) -> Moment:
        """The next moment; checkpoints wait until one is near."""
        near = log_pages(self._place.log) >= NEAR_CHECKPOINT
        ripe = [m for m in waiting if (m is Moment.CHECKPOINT) == near]
        chosen = ripe[0] if ripe else waiting[0]
        waiting.remove(chosen)
        return chosen

    async def _one_kill(self, moment: Moment) -> None:
        life = self._life
        await kill_at(moment, life, self._people, self._rng)
        await self._bury(life, moment)
        after = scene(life, self._people, self._feed.sent)
        copy_log(after.copied, self._place.folder / "last")
        await self._live()  # at once, as a service manager would; it is judged meanwhile
        found = await asyncio.to_thread(self._judge.findings, after)
        self.tally.torn, self.tally.open_commits = self._judge.torn, self._judge.open_commits
        if found and self.keep is not None and not self.tally.defects:
            copy_log(self._place.folder / "last" / "cooks.db", self.keep)
        found = [one for one in found if one not in self.tally.defects]
        self.tally.defects += found
        ready = f" (ready after {life.ready_at - life.began_at:.2f} s)" if life.ready_at else ""
        self._say(f"{self.tally.count}: {moment}{ready}: {'; '.join(found[:3]) or 'nothing lost'}")

    async def _live(self) -> None:
        """Start the next life."""
        usual_s = self.tally.started[-1] if self.tally.started else 1.0
        self._life = Life(self._place, self._people.hears, usual_s)
        await self._life.start()
        self._people.life = self._life

    async def _end(self) -> None:
        """Leave no daemon behind, whatever happened."""
        if self._life.process.returncode is None:
            self._life.signal_kill()
            await self._life.buried()

    async def _bury(self, life: Life, moment: Moment) -> None:
        """Take note of what its page heard, and how long an alarm took to sound again."""
        code = await life.buried()
        if code != -signal.SIGKILL and not (moment is Moment.SHUTDOWN and code == 0):
            self.tally.defects.append(f"it ended by itself with {code} ({moment})")
        self.tally.kills[moment] += 1
        self.tally.defects += [f"{fault} ({moment})" for fault in self._people.faults]
        self._people.faults.clear()
        assert life.killed_at is not None
        self._measure_alarm(life, life.killed_at)
        self._killed_at = life.killed_at
        self._alarms = unanswered(life, self._alarms)
        self._hear(life)
        self._children += [(life.killed_at, pid) for pid in life.children]
        self._count_orphans()

    def _hear(self, life: Life) -> None:
        heard = life.heard_of(self._people.cook)
        self.tally.defects += self._people.acknowledged.hear(heard)
        self._forecasts += [h.message for h in heard if h.message["type"] == "forecast"]
        if life.ready_at is not None:
            self.tally.started.append(life.ready_at - life.began_at)

    def _measure_alarm(self, life: Life, ended_at: float) -> None:
        if not self._alarms:
            return
        at = sounded_at(life, self._alarms)
        if at is not None:
            self.tally.sounded.append((at - life.began_at, at - self._killed_at))
        elif life.ready_at is None or ended_at - life.ready_at < LONG_ENOUGH_S:
            self.tally.unsounded += 1
        elif unanswered(life, self._alarms) & self._alarms:
            self.tally.silent += 1

    def _count_orphans(self) -> None:
        now = time.monotonic()
        due = [pid for killed_at, pid in self._children if now - killed_at > _ORPHANS_S]
        self.tally.orphans += sum(is_alive(pid) for pid in due)
        self._children = [one for one in self._children if one[1] not in due]

    async def _next_cook(self) -> None:
        """Begin another on the page, and kill it in the middle of that."""
        await self._life.ready()
        old, people = self._people.cook, self._people
        people.life = None
        await asyncio.sleep(_SETTLES_S)
        life = self._life
        asking = asyncio.create_task(life.ask("POST", "cooks", {}))
        await asyncio.sleep(self._rng.uniform(0.0, 0.04))
        life.signal_kill()
        answer = await asking
        await self._bury(life, Moment.CHANGE)
        begun = None if answer is None else answer.json()["cook"]
        image = read_image(copy_log(self._place.log, self._place.folder / "image"))
        wrong = changed_wrongly(image, old, begun)
        self.tally.defects += wrong
        self._say(f"{self.tally.count}: {Moment.CHANGE}: {'; '.join(wrong) or 'nothing lost'}")
        await self._live()
        people.life = None
        await self._life.ready()
        if image.open == (old,):
            await self._life.ask("POST", "cooks", {})
            self._hear(self._life)
        await self._close_cook(await self._image(), old)
        await self._begin_cook()
        self._feed.begin(quick_cook(self.cooks))
        self.cooks += 1

    async def _image(self) -> LogImage:
        """The log while it is in use: its daemon stands still meanwhile."""
        self._life.process.send_signal(signal.SIGSTOP)
        try:
            copied = copy_log(self._place.log, self._place.folder / "image")
        finally:
            self._life.process.send_signal(signal.SIGCONT)
        return await asyncio.to_thread(read_image, copied)

    async def _begin_cook(self) -> None:
        """What follows is about the cook that runs now; one that nobody touched is not kept on."""
        await self._life.ready()
        self._people.begin(self._life.cook())
        self._people.life = self._life
        await self._people.settle()
        self._judge.image, self._alarms = None, set()
        self._forecasts.clear()

    async def _look_at_syncs(self) -> None:
        self._feed.is_quiet = True
        self.tally.synced = await answers_synced(self._life, self._place.folder)
        if self.tally.synced is not None and self.tally.synced != (MARKS, MARKS):
            self.tally.defects.append(f"answers before a sync: {self.tally.synced}")

    async def _finish(self, looks_at_syncs: bool) -> None:
        """Let it go on once more, end it in order, and judge the last cook."""
        await self._life.ready()
        await asyncio.sleep(2.5)
        self._people.life = None
        await asyncio.sleep(_SETTLES_S)
        if looks_at_syncs:
            await self._look_at_syncs()
        self._life.process.terminate()
        code = await self._life.buried()
        if code != 0:
            self.tally.defects.append(f"it did not shut down in order: {code}")
        self._hear(self._life)
        after = scene(self._life, self._people, self._feed.sent)
        self.tally.defects += self._judge.findings(after)
        await self._close_cook(read_image(after.copied), self._people.cook)
        await self._until_all_ended()
        self.tally.left = sorted(p.name for p in (self._place.folder / "tmp").iterdir())

    async def _until_all_ended(self) -> None:
        """Wait for what the daemon started; what is still there after that is an orphan."""
        ends = time.monotonic() + _ORPHANS_S
        while time.monotonic() < ends and any(  # noqa: ASYNC110 - not our children to wait for
            is_alive(pid) for _, pid in self._children
        ):
            await asyncio.sleep(0.05)
        self._children = [(0.0, pid) for _, pid in self._children]
        self._count_orphans()

    async def _start_torn(self, number: int) -> None:
        """A daemon has to start on a log that lost its end, and goes on with the cook."""
        place = Place(self._place.folder / f"torn-{number}", self._place.port)
        copied = copy_log(self._place.folder / "last" / "cooks.db", place.folder)
        shutil.copyfile(self._place.config, place.config)
        wal.tear_anywhere(Path(f"{copied}-wal"), self._rng)
        (place.folder / "tmp").mkdir()
        life = Life(place, lambda call: None)
        await life.start()
        try:
            await life.ready()
        except (TimeoutError, AssertionError):
            said = place.folder / "stderr.txt"
            self.tally.defects.append(f"it did not start on torn log {number}: {said.read_text()}")
        life.signal_kill()
        await life.buried()
        self.tally.torn_starts += 1

    async def _close_cook(self, image: LogImage, cook: str) -> None:
        """Replay the whole cook, and hold its forecasts against the uninterrupted one."""
        kept, tally = self._people.acknowledged, self.tally
        recorded = parse_cook_lines(image.lines[cook])
        effects = await asyncio.to_thread(lambda: list(replay(recorded)))
        replayed = [to_line(call_record(one)) for one in effects if isinstance(one, Call)]
        if replayed != image.calls[cook]:
            tally.defects.append(f"the replay of {cook} gives other calls than the log has")
        tally.replayed += len(replayed)
        tally.calls += len(image.calls[cook])
        tally.unheard += len(image.calls[cook]) - len(kept.calls)
        for key, n in kept.records.items():
            tally.confirmed[key[0]] += n
        by_people = sum(n for key, n in kept.records.items() if key[0] != "reading")
        tally.unconfirmed += sum(_by_people(image.lines[cook])) - by_people
        sent, zero = tuple(self._feed.sent), image.zeros[cook]
        told = await asyncio.to_thread(uninterrupted, recorded, sent, zero)
        tally.bands.append((f"cook {len(tally.bands) + 1}", *compare(self._forecasts, told)))


def _by_people(lines: list[str]) -> Iterator[bool]:
    """Which records somebody waited for."""
    others = ("reading", "condition", "restart", "reached", "end", "cook")
    return (json.loads(line)["record"] not in others for line in lines)


def _config(port: int, broker: OpenBroker) -> str:
    page = f'[page]\nhost = "0.0.0.0"\nport = {port}\n'
    quiet = "[bluetooth]\nenabled = false\n[loudspeaker]\nenabled = false\n"
    return page + quiet + broker.toml() + PROBES
