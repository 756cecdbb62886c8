"""Mistakes put into a running site, one part at a time: the calls go on, it is seen, it mends."""

from __future__ import annotations

import asyncio
import logging
import sys
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from datetime import UTC, datetime
from inspect import iscoroutinefunction
from ipaddress import ip_address
from pathlib import Path
from typing import Any

import pytest

from pullcall.bus.options import BrokerOptions
from pullcall.bus.status import BusState, BusStatus
from pullcall.clock import RealClock, RecordedClock
from pullcall.core.cook import Cook
from pullcall.events import CallKind, CookHeader, Mark, MarkKind, SteakSettings
from pullcall.log.store import Store
from pullcall.metrics.measures import Measures
from pullcall.network.announcer import Announcer
from pullcall.outlets.clips import Clips
from pullcall.outlets.deadlines import Deadlines
from pullcall.outlets.desk import Desk
from pullcall.outlets.options import WebhookOptions
from pullcall.outlets.outlet import Outlet
from pullcall.outlets.phones import Phones
from pullcall.outlets.webhook import Webhook
from pullcall.site.archive import Archive
from pullcall.site.hub import Hub
from pullcall.site.live import Site
from pullcall.site.lookout import Lookout
from pullcall.site.options import SiteOptions
from pullcall.site.view import View
from pullcall.site.workshop import Workshop
from pullcall.sources.decoding import Temperature, Verdict
from pullcall.sources.mqtt.gateways import Gateways
from pullcall.sources.mqtt.options import GatewayProbe, MqttOptions
from pullcall.sources.mqtt.source import MqttSource
from pullcall.sources.mqtt.told import Heard, WayTold, line_of
from pullcall.sources.sink import (
    AdapterState,
    AdapterStatus,
    ChannelReading,
    LinkState,
    ProbeStatus,
    Sink,
    Source,
)
from pullcall.supervision import Part
from tests.desk import KeptSpeaker, desk_with
from tests.outlets.ears import until
from tests.outlets.receiver import OK, receiver
from tests.site.at_work import at_work

START = datetime(2026, 6, 13, 13, 40, tzinfo=UTC)
OPTIONS = SiteOptions(
    boot="boot-1", usual=CookHeader("", "", (SteakSettings("left", channel="p/1"),))
)

#: What the process that listens to gateways tells of one.
HEARD = (WayTold(""), Heard("pit", "mqtt:pit", {1: Temperature(54.3, Verdict.GOOD)}))
LISTENER = """
import sys
print(%r, flush=True)
sys.stdin.read()
"""


class FakeSource:
    """Runs until it is told to raise or to hang at its next start; one probe."""

    def __init__(self) -> None:
        self.fault: Exception | None = None
        self.tell_fault: Exception | None = None
        self.stop = asyncio.Event()
        self.starts = 0

    async def run(self, sink: Sink) -> None:
        self.starts += 1
        sink.reading(ChannelReading("p/1", 40.0, 0.0))
        if self.fault is None:
            await self.stop.wait()
        raise self.fault or RuntimeError("stopped")

    def probes(self) -> tuple[ProbeStatus, ...]:
        if self.tell_fault is not None:
            raise self.tell_fault
        return (ProbeStatus("p/1", "p", "Probe", "test", LinkState.STREAMING),)

    def adapter(self) -> AdapterStatus | None:
        return AdapterStatus("hci0", AdapterState.OK)


class FakeBridge:
    """A way to a broker that is well."""

    async def run(self, site: object) -> None:
        await asyncio.Event().wait()

    def status(self) -> BusStatus:
        return BusStatus(BusState.OK)


class Place:
    """A running site with a speaker, a source and a clock of its own."""

    def __init__(self, site: Site, clock: RecordedClock, speaker: KeptSpeaker) -> None:
        self.site = site
        self.clock = clock
        self.speaker = speaker

    async def makes_calls(self) -> None:
        """Put the steak on: its turn is called by the speaker, whatever else goes on."""
        await self.site.take(lambda t: Mark(t, None, MarkKind.ON, "on"))
        on_t = self.clock.monotonic()
        for second in range(1, 125):
            self.clock.advance_to(on_t + second)
            await until(lambda: self.site.cook.next_tick > self.site.now())
        await until(lambda: any(c.call is CallKind.TURN for c in self.speaker.said()))

    def failing(self) -> dict[str, str]:
        """What pages are told does not go, by part."""
        checks = self.site.snapshot()["readiness"]
        return {c["name"]: c["words"] for c in checks if c["name"].startswith("part ")}

    async def until_failing(self, part: str, words: str) -> None:
        await until(lambda: words in self.failing().get(f"part {part}", ""))

    async def until_well(self, part: str) -> None:
        await until(lambda: f"part {part}" not in self.failing())


@pytest.fixture(autouse=True)
def soon(monkeypatch: pytest.MonkeyPatch) -> None:
    """Begun again, and looked around, as good as at once; a mistake is not shown for a minute."""
    monkeypatch.setattr("pullcall.back_off._STEPS_S", (0.02,))
    monkeypatch.setattr("pullcall.site.live._BEAT_S", 0.02)
    monkeypatch.setattr("pullcall.supervision._SHOWN_S", 0.5)


@asynccontextmanager
async def place(
    tmp_path: Path, *sources: Source, bridge: Any = None, outlet: Outlet | None = None
) -> AsyncIterator[Place]:
    clock = RecordedClock(START)
    speaker = KeptSpeaker()
    with Store(tmp_path / "cooks.db") as store:
        others = [speaker] if outlet is None else [speaker, outlet]
        desk = Desk(Phones(RealClock()), others, RealClock())
        site = Site(store, clock, sources, OPTIONS, desk, bridge=bridge)
        async with at_work(site) as task:
            yield Place(site, clock, speaker)
            assert not task.done(), task


async def test_a_source_that_makes_a_mistake(tmp_path: Path) -> None:
    broken, well = FakeSource(), FakeSource()
    broken.fault = KeyError("p")
    async with place(tmp_path, broken, well) as here:
        await here.until_failing("probes 1 (Fake)", "a mistake (KeyError)")
        await until(lambda: here.site.probes()["adapter"]["state"] == "stuck")
        await here.makes_calls()
        assert well.starts == 1
        broken.fault = None
        await here.until_well("probes 1 (Fake)")
        assert here.site.probes()["adapter"]["state"] == "ok"


async def test_a_source_that_hangs_and_then_ends(tmp_path: Path) -> None:
    source = FakeSource()
    async with place(tmp_path, source) as here:
        await until(lambda: source.starts == 1)
        await here.makes_calls()
        source.stop.set()
        await here.until_failing("probes 1 (Fake)", "RuntimeError")
        source.stop.clear()
        await until(lambda: source.starts > 1)
        await here.until_well("probes 1 (Fake)")


async def test_a_source_that_cannot_tell_how_it_is(tmp_path: Path) -> None:
    source = FakeSource()
    source.tell_fault = TypeError("no")
    async with place(tmp_path, source) as here:
        await here.until_failing("probes 1 (Fake)", "(TypeError)")
        assert here.site.snapshot()["probes"] == []
        await here.makes_calls()
        source.tell_fault = None
        await until(lambda: bool(here.site.snapshot()["probes"]))
        await here.until_well("probes 1 (Fake)")


class Switch:
    """Makes a method raise for as long as it is broken."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, owner: type, name: str) -> None:
        self.is_broken = True
        self.fault: Exception = OSError("no")
        whole = getattr(owner, name)

        def sync(*given: Any, **named: Any) -> Any:
            if self.is_broken:
                raise self.fault
            return whole(*given, **named)

        async def later(*given: Any, **named: Any) -> Any:
            return await sync(*given, **named)

        monkeypatch.setattr(owner, name, later if iscoroutinefunction(whole) else sync)


@pytest.mark.parametrize(
    ("part", "owner", "name"),
    [
        ("look-around", Lookout, "conditions"),
        ("look-around", Hub, "whisper"),
        ("look-around", Site, "_beat_loop"),
        ("what is shown", View, "show_effects"),
        ("what is shown", Measures, "announces"),
        ("what is shown", Measures, "passed"),
        ("logbook", Archive, "run"),
        ("logbook", Workshop, "run"),
        ("outlets", Desk, "run"),
        ("words", Clips, "run"),
        ("escalation", Deadlines, "next"),
        ("loudspeaker", KeptSpeaker, "run"),
        ("broker", FakeBridge, "run"),
    ],
)
async def test_a_mistake_of_a_part_leaves_the_calls_is_shown_and_mends(
    part: str, owner: type, name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    switch = Switch(monkeypatch, owner, name)
    async with place(tmp_path, FakeSource(), bridge=FakeBridge()) as here:
        await here.makes_calls()
        await here.until_failing(part, "(OSError)")
        switch.is_broken = False
        await here.until_well(part)


@pytest.mark.parametrize(
    ("part", "owner", "name"), [("logbook", Archive, "over"), ("what is shown", Hub, "restart")]
)
async def test_a_mistake_at_the_end_of_a_cook_leaves_the_calls_of_the_next(
    part: str, owner: type, name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    switch = Switch(monkeypatch, owner, name)
    async with place(tmp_path, FakeSource()) as here:
        await here.site.begin(None)
        await here.until_failing(part, "(OSError)")
        await here.makes_calls()
        switch.is_broken = False
        await here.until_well(part)


def listening(*command: str) -> MqttSource:
    """A source of one gateway, which ``command`` listens to."""
    options = MqttOptions(BrokerOptions("127.0.0.1", 1), (GatewayProbe("pit", "gateway/pit"),))
    return MqttSource(options, RecordedClock(START), command=command)


async def test_a_mistake_in_what_gateways_tell(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for wait in ("_FIRST_WAIT_S", "_LONGEST_WAIT_S"):
        monkeypatch.setattr(f"pullcall.sources.mqtt.source.{wait}", 0.02)
    switch = Switch(monkeypatch, Gateways, "take")
    switch.fault = KeyError("no")
    gateways = listening(
        sys.executable, "-Sc", LISTENER % "\n".join(line_of(told) for told in HEARD)
    )
    async with place(tmp_path, gateways) as here:

        def notes() -> str:
            return " ".join(probe["note"] for probe in here.site.snapshot()["probes"])

        await until(lambda: "a mistake (KeyError)" in notes())
        await here.makes_calls()
        switch.is_broken = False
        await until(lambda: "streaming" in {p["state"] for p in here.site.snapshot()["probes"]})
        assert "mistake" not in notes()


async def test_a_mistake_before_gateways_are_listened_to(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    switch = Switch(monkeypatch, MqttSource, "run")
    async with place(tmp_path, listening("/no/such/command")) as here:
        await here.until_failing("probes 1 (Mqtt)", "(OSError)")
        await here.makes_calls()
        switch.is_broken = False
        await here.until_well("probes 1 (Mqtt)")


async def test_a_mistake_of_the_webhook(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    switch = Switch(monkeypatch, Webhook, "_work")
    async with receiver(OK) as there:
        webhook = Webhook(WebhookOptions(there.url), RealClock())
        async with place(tmp_path, outlet=webhook) as here:
            await here.makes_calls()
            await here.until_failing("webhook", "(OSError)")
            (state,) = [o for o in here.site.snapshot()["outlets"] if o["name"] == "webhook"]
            assert state["state"] == "failing"
            switch.is_broken = False
            await here.until_well("webhook")
            here.site.desk.announce((here.speaker.said()[-1],))
            await until(lambda: bool(there.got))


@pytest.mark.xdist_group("mdns")
async def test_a_mistake_of_the_announcement_on_the_network(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level(logging.INFO, "pullcall.network")
    switch = Switch(monkeypatch, Announcer, "service")
    monkeypatch.setattr("pullcall.network.announcer.host_name", lambda: "pit-of-a-mistake")
    announcer = Announcer(
        "pit-of-a-mistake",
        8317,
        RealClock(),
        listen_ms=1,
        addresses=lambda: (ip_address("127.0.0.1"),),
    )
    async with place(tmp_path) as here:
        announced = Part("announcement", announcer.run)
        keeping = asyncio.create_task(here.site.edges.keep(announced))
        await here.until_failing("announcement", "open the page by its address")
        switch.fault = KeyError("no")
        await here.until_failing("announcement", "(KeyError)")
        await here.makes_calls()
        switch.is_broken = False
        await until(lambda: "announced as pit-of-a-mistake" in caplog.text)
        await here.until_well("announcement")
        keeping.cancel()
        await asyncio.gather(keeping, return_exceptions=True)


async def test_an_input_that_makes_a_mistake_is_refused_and_logged_nowhere(tmp_path: Path) -> None:
    async with place(tmp_path) as here:
        with pytest.raises(ZeroDivisionError):
            await here.site.take(lambda t: Mark(1 / 0, None, MarkKind.ON, "on"))
        await here.makes_calls()


async def test_a_mistake_of_the_core_ends_the_site(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    clock = RecordedClock(START)
    with Store(tmp_path / "cooks.db") as store:
        site = Site(store, clock, [FakeSource()], OPTIONS, desk_with(KeptSpeaker()))
        Switch(monkeypatch, Cook, "advance")
        with pytest.raises(ExceptionGroup) as caught:
            await site.run()
        assert caught.group_contains(OSError)
        site.close()
