"""One cook place, live: inputs are logged, then acted on, then shown."""

from __future__ import annotations

import asyncio
import math
import secrets
from collections.abc import Callable, Iterable
from dataclasses import asdict, replace
from datetime import datetime, timedelta
from functools import partial
from typing import Any

from pullcall.bus.bridge import Bridge
from pullcall.clock import Clock, RealClock
from pullcall.core.cook import Cook, proposed_mark
from pullcall.errors import RefusedError
from pullcall.events import (
    Call,
    Condition,
    CookHeader,
    End,
    Input,
    Mark,
    MarkKind,
    Reading,
    Restart,
    Setting,
    SteakSettings,
    Window,
)
from pullcall.learning.in_force import in_force
from pullcall.learning.lesson import Lesson
from pullcall.local_zone import local
from pullcall.log.entries import Ended, Entry, Moved
from pullcall.log.store import Store
from pullcall.metrics.measures import Measures
from pullcall.outlets.desk import Desk
from pullcall.plan.wall import parse_window, zero_of
from pullcall.site.announcer import Announcer
from pullcall.site.archive import Archive
from pullcall.site.hub import Hub
from pullcall.site.inbox import Inbox, Missing, NewCook, Request, chunks
from pullcall.site.ledger import Ledger
from pullcall.site.lookout import Lookout
from pullcall.site.next_cook import NextCook
from pullcall.site.open_cook import OpenCook, begun, new_entry
from pullcall.site.opening import open_cook
from pullcall.site.options import SiteOptions
from pullcall.site.review import Review
from pullcall.site.time_of_day import Correction
from pullcall.site.view import View
from pullcall.site.wall_clock import Trust, kernel_trusts
from pullcall.sources.sink import ChannelReading, ProbeStatus, Source
from pullcall.sources.supervised import Supervised
from pullcall.supervision import Edges, Part, Trouble

#: How often pages are told that the link lives, and how the probes do, wall seconds.
_BEAT_S = 1.0


class Site:
    """Runs one cook after the other. :meth:`run` holds the one task that owns the cook."""

    def __init__(
        self,
        store: Store,
        clock: Clock,
        sources: Iterable[Source],
        options: SiteOptions,
        desk: Desk,
        trust: Trust = kernel_trusts,
        on_pass: Callable[[], None] = lambda: None,
        bridge: Bridge | None = None,
    ) -> None:
        """``on_pass`` is called each time the loop that makes the calls went round once;
        ``bridge`` publishes the site at a broker."""
        self.hub = Hub()
        self.options = options
        self.desk = desk
        self.bridge = bridge
        self._store = store
        self._clock = clock
        self.edges = Edges(RealClock())
        #: What only shows or measures the cook; a mistake there must not stop a call.
        self._beside = self.edges.edge("what is shown")
        self._sources = tuple(self._supervised(*one) for one in enumerate(sources))
        self._inbox = Inbox()
        self._ledger = Ledger(store, self._show_trouble)
        self._hearers: list[Callable[[Input], None]] = []
        self._on_pass = on_pass
        self.measures = Measures(self._inbox, self._ledger, self._sources, options.speed)
        self._announcer = Announcer(
            self._ledger, desk, self.measures, self._beside, self.now, options.speed
        )
        desk.on_report, desk.on_unheard = self.measures.calls.reported, self._announcer.again
        self._lookout = Lookout(clock, desk, store.path, trust)
        self._running: Cook | None = None  # none while the first one is taken up
        self.archive = Archive(
            store, self._ledger, self._wall, lambda: self._running, options.config
        )
        self._next = NextCook(options.usual, lambda: self._running, self._lessons)
        self.review = Review(self.archive, self._next.untaught)
        self._confirmed: set[str] = set()
        self._take_up(open_cook(self._ledger, clock, options, self._next.teach))
        self._lookout.take_up(self._open, self.now())

    @property
    def cook(self) -> Cook:
        """The running cook."""
        return self._open.core

    @property
    def is_resumed(self) -> bool:
        """Whether this cook was running before the daemon was started."""
        return self._open.is_resumed

    def now(self) -> float:
        """Seconds since the cook's zero."""
        return self._clock.monotonic() - self._open.zero

    def reading(self, reading: ChannelReading) -> None:
        """Take a value from a source (see :class:`pullcall.sources.sink.Sink`)."""
        self._inbox.put(reading)

    def hear(self, hearer: Callable[[Input], None]) -> None:
        """Let ``hearer`` know of every input of a person, and of the end of a cook once the next
        has begun (the simulated kitchen listens)."""
        self._hearers.append(hearer)

    def hear_calls(self, hearer: Callable[[Call], None]) -> None:
        """Let ``hearer`` know of every call as it is announced (the simulated cook obeys)."""
        self._announcer.hear(hearer)

    async def take(self, make: Callable[[float], Input]) -> Input:
        """Log and apply a person's input, made from its cook time; returns it once it is safe.

        Raises RefusedError, saying what to do, for an input that makes no sense, and StoppingError
        once Pullcall is being stopped: then it may have been taken or not.
        """
        answer: asyncio.Future[Input] = asyncio.get_running_loop().create_future()
        self._inbox.put(Request(make, answer, self._clock.monotonic()))
        return await answer

    async def begin(self, steaks: tuple[SteakSettings, ...] | None) -> str:
        """End the running cook and begin another; returns its id.

        Raises StoppingError once Pullcall is being stopped: then it may have begun or not.
        """
        answer: asyncio.Future[str] = asyncio.get_running_loop().create_future()
        self._inbox.put(NewCook(await self._next.taught(steaks), answer))
        return await answer

    def snapshot(self) -> dict[str, Any]:
        """Everything a page needs to start from."""
        return {
            "epoch": self.hub.epoch,
            "seq": self.hub.seq,
            "wall": self._wall().isoformat(timespec="seconds"),
            "speed": self.options.speed,
            "mode": self.options.mode,
            "unit": self.options.unit,
            "ends_t": None,
            "banner": self._banner(self._ledger.trouble),
            **self._view.snapshot(self.now()),
            **self.probes(),
            **self._around(),
        }

    def probes(self) -> dict[str, Any]:
        """Every probe heard, with the steak it is assigned to, and the adapter."""
        by_channel = self._by_channel()
        adapters = [a for a in (s.adapter() for s in self._sources) if a is not None]
        grate = self.cook.setup.fire.channel
        return {
            "probes": [
                {
                    **asdict(probe),
                    "steak": by_channel.get(probe.channel),
                    "is_grate": probe.channel == grate,
                }
                for probe in self._probes()
            ],
            "adapter": asdict(adapters[0]) if adapters else None,
        }

    def window(self, text: str) -> Window:
        """The next turn-in window of that name, such as "14:00-14:30". Raises RefusedError."""
        try:
            return parse_window(text, local(self._wall()))
        except ValueError as exc:
            raise RefusedError(f"{str(exc).capitalize()}.") from exc

    async def set_clock(self, wall: datetime) -> None:
        """The cook says what time it is: the turn-in window follows that clock from now on. What
        else follows, :mod:`pullcall.site.time_of_day` says.

        Raises RefusedError for a time without a zone, and what :meth:`take` does.
        """
        if wall.tzinfo is None:
            raise RefusedError("Send the time of day with its offset from UTC.")
        time_of_day, machine = self._lookout.time_of_day, self._clock.wall()
        for make in self._correct(time_of_day.confirm(self._open, wall, machine, self.now())):
            await self.take(make)

    def phone_seen(self, phone: str, armed: bool) -> None:
        """A phone is here; ``armed`` says whether it sounds calls."""
        self._lookout.phone_seen(phone, armed)

    def receipt(self, phone: str, call: str) -> None:
        """A phone sounded a call."""
        self._lookout.receipt(phone, call)

    async def clip(self, id: str) -> bytes:
        """The words of a call as a WAV file. Raises UnknownNameError."""
        return await self.desk.clips.wav(id)

    async def recording(self, id: str) -> bytes:
        """A cook that is over as the file that a page replays, gzip.

        Raises UnknownNameError for a cook that is not there, RefusedError for one that is not over,
        LogError where it takes longer than a minute to make or cannot be made.
        """
        return await self.archive.recording(id)

    async def run(self) -> None:
        """Run until cancelled; only what the log or the core raises ends it before."""
        async with asyncio.TaskGroup() as tasks:
            tasks.create_task(self._cook_loop(), name="cook")
            tasks.create_task(self.edges.keep(*self._parts()), name="edges")
            for source in self._sources:
                tasks.create_task(source.run(self), name="source")

    def _parts(self) -> list[Part]:
        """What goes on around the calls; each fails and is begun again alone."""
        bridge = self.bridge
        return [
            Part("look-around", self._beat_loop),
            Part("outlets", self.desk.run),
            Part("logbook", self.archive.run),
            *([] if bridge is None else [Part("broker", lambda: bridge.run(self))]),
        ]

    def troubles(self) -> tuple[Trouble, ...]:
        """Every part around the calls that does not go."""
        return (*self.edges.troubles(), *self.desk.edges.troubles())

    def close(self) -> None:
        """Let pages go, answer whoever still waits, and finish writing."""
        self._inbox.close()
        self._beside.guard(self.hub.close)
        self._ledger.close()

    async def _cook_loop(self) -> None:
        while True:
            await self._wait_for_work()
            for chunk in chunks(self._inbox.take_all()):
                if isinstance(chunk, Request):
                    await self._take_request(chunk)
                elif isinstance(chunk, NewCook):
                    await self._begin(chunk)
                elif isinstance(chunk, Missing):
                    await self._make_up(chunk)
                else:
                    await self._take_readings(chunk)
            await self._announcer.announce(self.cook.advance(self.now()))
            self._tell_what_stands()
            self._beside.guard(self.measures.passed)
            self._on_pass()

    async def _wait_for_work(self) -> None:
        """Wait for an input or the next whole second of the cook."""
        tick = self._open.zero + self.cook.next_tick
        waits = [
            asyncio.ensure_future(self._inbox.wait()),
            asyncio.ensure_future(self._clock.sleep_until(tick)),
        ]
        try:
            await asyncio.wait(waits, return_when=asyncio.FIRST_COMPLETED)
        finally:
            for wait in waits:
                wait.cancel()

    async def _take_readings(self, readings: list[ChannelReading]) -> None:
        by_channel = self._by_channel()
        latest = -math.inf
        events: list[Reading] = []
        for r in readings:
            latest = max(latest, self.cook.stamp(r.at - self._open.zero))
            steak = by_channel.get(r.channel)
            events.append(Reading(latest, steak, round(r.celsius, 3), r.channel))
        await self._ledger.write(self._open.id, events)
        for event in events:
            await self._act_on(event)

    async def _take_request(self, request: Request) -> None:
        try:
            event = request.make(self.cook.stamp(request.at - self._open.zero))
            self._open.check(event)
        except Exception as exc:  # nothing was logged or changed yet: whoever asked is told
            request.settle(exc)
            return
        await self._ledger.write(self._open.id, [event])
        await self._act_on(event)
        self._let_hear(event)
        request.settle(event)

    async def _begin(self, wish: NewCook) -> None:
        """End this cook and take up another; nothing else touches the cook meanwhile."""
        end = End(self.cook.stamp(self.now()))
        await self._ledger.write(self._open.id, [end])
        await self._act_on(end)
        entry = new_entry(self._clock.monotonic(), self._wall(), self.options, wish.like)
        over = Ended(self._wall().isoformat(timespec="seconds"))
        await self._ledger.keep([Entry(self._open.id, over), begun(entry)])
        self._announcer.silence()
        self._shelve()
        self._beside.guard(self.hub.restart)
        self._take_up(OpenCook(entry, entry.zero_monotonic))
        self._beside.guard(lambda: self.hub.publish("snapshot", self.snapshot()))
        self._let_hear(end)
        if not wish.answer.done():
            wish.answer.set_result(entry.id)

    async def _make_up(self, missing: Missing) -> None:
        """The cook has run for longer than was thought, by so many seconds."""
        self._open.zero -= missing.seconds
        moved = Moved(self.options.boot, self._open.zero)
        await self._ledger.keep([Entry(self._open.id, moved)])

    async def _act_on(self, event: Input) -> None:
        effects = self.cook.apply(event)
        self._beside.guard(lambda: self._view.show_input(event))
        await self._announcer.announce(effects)
        self._beside.guard(lambda: self.measures.took(event))
        if isinstance(event, Mark) and event.mark is MarkKind.HANDED_IN and self.cook.is_over():
            self._shelve()  # the next cook may begin at once, taught by this one

    def _shelve(self) -> None:
        """Have the cook that is over worked out."""
        self.edges.edge("logbook").guard(lambda: self.archive.over(self._open.id))

    def _tell_what_stands(self) -> None:
        """After a time that nobody could watch: pages begin anew, and what nobody answered sounds
        at the next second."""
        if self._announcer.has_been_away():
            self._beside.guard(lambda: self.hub.publish("snapshot", self.snapshot()))
            self._enter(Restart)

    async def _beat_loop(self) -> None:
        """Each second; what fails in one look does not keep the others from theirs."""
        edge = self.edges.edge("look-around")
        looks = (self._beat, self._follow_clock, self._look_around, self._confirm_proposals)
        shows = (self._show_probes, self._show_around)
        while True:
            for look in (*looks, *shows):
                edge.guard(look)
            await asyncio.sleep(_BEAT_S)

    def _beat(self) -> None:
        self.hub.whisper("tick", {"t": round(self.now(), 3)})

    def _show_probes(self) -> None:
        self.hub.publish_changed("probes", self.probes())

    def _show_around(self) -> None:
        self.hub.publish_changed("site", self._around())

    def _follow_clock(self) -> None:
        """Set right what the machine's clock knows better."""
        correction = self._lookout.time_of_day.look(self._open, self._clock.wall(), self.now())
        for make in self._correct(correction):
            self._enter(make)

    def _correct(self, correction: Correction) -> list[Callable[[float], Setting]]:
        """Make up for missing time; gives the settings that are left to be taken."""
        if correction.missing_s:
            self._inbox.put(Missing(correction.missing_s))
        return [partial(_setting, name, value) for name, value in correction.settings]

    def _look_around(self) -> None:
        """Enter the faults that began or ended, as anybody else's input."""
        recording = self._ledger.trouble is None
        for seen in self._lookout.conditions(self.cook, self._probes(), recording, self.now()):
            self._enter(partial(_at, seen))

    def _confirm_proposals(self) -> None:
        """A proposal that nobody contradicted in time becomes a mark."""
        for proposal in self.cook.proposals():
            due = proposal.confirm_t is not None and proposal.confirm_t <= self.now()
            if due and proposal.id not in self._confirmed:
                self._confirmed.add(proposal.id)
                self._enter(partial(proposed_mark, proposal, secrets.token_hex(4)))

    def _enter(self, make: Callable[[float], Input]) -> None:
        """Take an input that nobody waits for; one refused meanwhile is let go."""
        answer: asyncio.Future[Input] = asyncio.get_running_loop().create_future()
        answer.add_done_callback(lambda done: done.cancelled() or done.exception())
        self._inbox.put(Request(make, answer, self._clock.monotonic()))

    def _around(self) -> dict[str, Any]:
        learned = in_force(self.cook.header.lessons)
        broker = None if self.bridge is None else self.bridge.status()
        ways = tuple(source.way() for source in self._sources)
        return self._lookout.state(
            self.cook, self._probes(), learned, broker, self.troubles(), ways
        )

    def _supervised(self, number: int, source: Source) -> Supervised:
        return Supervised(source, self.edges.edge(_name_of(source, number)))

    def _let_hear(self, event: Input) -> None:
        for hearer in self._hearers:
            self._beside.guard(partial(hearer, event))

    def _probes(self) -> tuple[ProbeStatus, ...]:
        return tuple(probe for source in self._sources for probe in source.probes())

    def _lessons(self, header: CookHeader) -> tuple[Lesson, ...]:
        return self.review.lessons(header)

    def _take_up(self, opened: OpenCook) -> None:
        self._open, self._running = opened, opened.core
        self._view = View(opened.core, self.hub, self.desk.clips.offer)
        view, past = self._view, tuple(opened.past)
        for event, effects in past:
            self._beside.guard(partial(view.learn, event, effects))
        self._beside.guard(lambda: self.measures.begin_cook(past))
        opened.past.clear()
        self._announcer.take_up(opened, view)

    def _show_trouble(self, trouble: str | None) -> None:
        self._beside.guard(lambda: self.hub.publish("banner", {"banner": self._banner(trouble)}))

    def _banner(self, trouble: str | None) -> str | None:
        """What is said above the lanes: of the log first."""
        words = (trouble, self._store.notice, self.options.banner)
        return " ".join(said for said in words if said) or None

    def _wall(self) -> datetime:
        """The time of day, by the clock that the cook goes by."""
        zero = None if self._running is None else zero_of(self.cook.setup)
        return self._clock.wall() if zero is None else zero + timedelta(seconds=self.now())

    def _by_channel(self) -> dict[str, str]:
        steaks = self.cook.steaks.items()
        return {s.settings.channel: name for name, s in steaks if s.settings.channel}


def _name_of(source: Source, number: int) -> str:
    """What people call it: "probes 1 (Bluetooth)" of a BluetoothSource."""
    return f"probes {number + 1} ({type(source).__name__.removesuffix('Source')})"


def _setting(name: str, value: str, t: float) -> Setting:
    return Setting(t, None, name, value)


def _at(condition: Condition, t: float) -> Condition:
    return replace(condition, t=t)
