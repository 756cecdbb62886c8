"""Which calls can be had as sound: those that pages are told of, without waiting for it."""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from pullcall.clock import RecordedClock
from pullcall.core.cook import Cook
from pullcall.errors import UnknownNameError
from pullcall.events import CookHeader, Mark, MarkKind, SteakSettings
from pullcall.log.store import Store
from pullcall.outlets.desk import Desk
from pullcall.outlets.phones import Phones
from pullcall.outlets.speech import Speech
from pullcall.site.hub import Hub, Listener
from pullcall.site.live import Site
from pullcall.site.options import SiteOptions
from pullcall.site.view import View
from tests.desk import KeptSpeaker
from tests.outlets.ears import until
from tests.outlets.test_speech import A_WAV, a_program
from tests.site.at_work import at_work

OPTIONS = SiteOptions(
    boot="boot-1", usual=CookHeader("", "", (SteakSettings("left"), SteakSettings("right")))
)

TURN_IN_10 = 110.0


@asynccontextmanager
async def cooking(folder: Path, speech: Speech | None) -> AsyncIterator[tuple[Site, RecordedClock]]:
    """A site whose steaks have just gone on."""
    clock = RecordedClock(datetime(2026, 6, 13, 13, 40, tzinfo=UTC))
    with Store(folder / "cooks.db") as store:
        desk = Desk(Phones(clock), [KeptSpeaker()], clock, speech=speech)
        site = Site(store, clock, [], OPTIONS, desk)
        async with at_work(site):
            await site.take(lambda t: Mark(t, None, MarkKind.ON, "on"))
            yield site, clock


async def message(listener: Listener, kind: str) -> dict[str, Any]:
    """The next message of that kind."""
    async with asyncio.timeout(60):
        while True:
            line = await listener.queue.get()
            assert line is not None
            told: dict[str, Any] = json.loads(line)
            if told["type"] == kind:
                return told


async def turn_call(site: Site, clock: RecordedClock) -> dict[str, Any]:
    """What pages are told when the first turn is called."""
    listener = site.hub.join()
    clock.advance_to(TURN_IN_10)
    return await message(listener, "call")


async def test_the_calls_that_come_and_those_announced_can_be_had(tmp_path: Path) -> None:
    async with cooking(tmp_path, Speech("en", a_program(tmp_path, A_WAV))) as (site, clock):
        coming = site.snapshot()["schedule"]
        assert [entry["call"] for entry in coming][:2] == ["turn", "turn"]
        assert len({entry["clip"] for entry in coming}) == len(coming)
        told = await turn_call(site, clock)
        assert told["text"] == "Both: turn in 10"
        shown = [call["clip"] for call in site.snapshot()["calls"]]
        for id in (*(entry["clip"] for entry in coming), told["clip"], *shown):
            assert (await site.clip(id)).startswith(b"RIFF")
        with pytest.raises(UnknownNameError):
            await site.clip("0123456789abcdef")


async def test_a_message_does_not_wait_for_its_words(tmp_path: Path) -> None:
    gate, began = tmp_path / "gate", tmp_path / "began"
    body = (
        f"import os, time\nopen({str(began)!r}, 'w').close()\n"
        f"while not os.path.exists({str(gate)!r}): time.sleep(0.01)\n"
    )
    async with cooking(tmp_path, Speech("en", a_program(tmp_path, body + A_WAV))) as (site, clock):
        await until(began.exists)
        told = await turn_call(site, clock)
        assert not gate.exists()
        assert told["clip"] is not None
        await asyncio.to_thread(gate.touch)
        assert await site.clip(told["clip"])


@pytest.mark.parametrize("speech", [None, Speech("en", "no-such-program-for-speech")])
async def test_without_words_pages_are_told_that_there_are_none(
    tmp_path: Path, speech: Speech | None
) -> None:
    async with cooking(tmp_path, speech) as (site, clock):
        assert {entry["clip"] for entry in site.snapshot()["schedule"]} == {None}
        assert (await turn_call(site, clock))["clip"] is None


def test_a_view_that_offers_nothing_has_null_for_every_clip() -> None:
    cook = Cook(CookHeader("c", "2026-06-13T13:40:00+00:00", (SteakSettings("left"),)))
    view = View(cook, Hub())
    effects = [*cook.apply(Mark(0.0, "left", MarkKind.ON, "on")), *cook.advance(TURN_IN_10)]
    view.show_effects(effects, TURN_IN_10)
    shown = view.snapshot(TURN_IN_10)
    assert [call["clip"] for call in shown["calls"]] == [None]
    assert {entry["clip"] for entry in shown["schedule"]} == {None}
