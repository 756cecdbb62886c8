"""The desk that the configuration asks for, and a whole burst through it."""

from __future__ import annotations

import asyncio
from pathlib import Path

import pytest

from pullcall.clock import RealClock
from pullcall.errors import ConfigError
from pullcall.outlets.assembly import make_outlets
from pullcall.outlets.options import LoudspeakerOptions, WebhookOptions
from pullcall.outlets.outlet import OutletState
from pullcall.outlets.phones import Phones
from pullcall.outlets.wav import from_wav, seconds_of
from tests.outlets.ears import Reported, call, clock, running, until
from tests.outlets.receiver import OK, receiver
from tests.tools import require_tool

URL = "https://example.org/calls"


@pytest.mark.parametrize(
    "loudspeaker, webhook, names",
    [
        (LoudspeakerOptions(enabled=False), WebhookOptions(), ["phones"]),
        (LoudspeakerOptions(), WebhookOptions(), ["phones", "loudspeaker"]),
        (LoudspeakerOptions(), WebhookOptions(URL), ["phones", "loudspeaker", "webhook"]),
        (LoudspeakerOptions(enabled=False), WebhookOptions(URL), ["phones", "webhook"]),
    ],
)
def test_the_outlets_are_those_configured(
    loudspeaker: LoudspeakerOptions, webhook: WebhookOptions, names: list[str]
) -> None:
    desk = make_outlets(loudspeaker, webhook, Phones(clock()), clock())
    assert [status.name for status in desk.statuses()] == names


def test_what_cannot_be_used_is_refused_at_once() -> None:
    phones = Phones(clock())
    with pytest.raises(ConfigError, match="voice"):
        make_outlets(LoudspeakerOptions(voice="-x"), WebhookOptions(), phones, clock())
    with pytest.raises(ConfigError, match="url"):
        make_outlets(LoudspeakerOptions(), WebhookOptions("nowhere"), phones, clock())


@pytest.mark.parametrize("enabled", [True, False])
async def test_phones_get_words_with_the_loudspeaker_and_without(enabled: bool) -> None:
    require_tool("espeak-ng", "espeak-ng")
    options = LoudspeakerOptions(enabled=enabled, player=("no-such-player-here",))
    desk = make_outlets(options, WebhookOptions(), Phones(clock()), clock())
    async with running(desk.run()):
        id = desk.clips.offer("Left: pull now")
        assert id is not None
        assert seconds_of(from_wav(await desk.clips.wav(id))) > 0.5


async def test_a_folder_and_an_address_both_get_the_call(tmp_path: Path) -> None:
    async with receiver(OK) as there:
        options = LoudspeakerOptions(folder=tmp_path / "calls")
        now = RealClock()
        desk = make_outlets(options, WebhookOptions(there.url, "secret"), Phones(now), now)
        desk.on_report = reported = Reported()
        async with running(desk.run()):
            desk.begin_cook(("left", "right"))
            desk.announce((call("c1"),))
            await reported.count(2)
            assert desk.is_heard(now.monotonic())
    assert {(r.outlet, r.played) for r in reported.all} == {
        ("loudspeaker", True),
        ("webhook", True),
    }
    assert [path.name for path in await asyncio.to_thread(_files, tmp_path)] == ["call-0001.wav"]


async def test_a_backup_address_gets_only_what_nobody_heard() -> None:
    async with receiver(OK) as there:
        now = clock()
        webhook = WebhookOptions(there.url, backup_only=True)
        desk = make_outlets(
            LoudspeakerOptions(player=("no-such-player-here",)), webhook, Phones(now), now
        )
        desk.on_report = reported = Reported()
        async with running(desk.run()):
            desk.announce((call("c1"),))
            [failed] = await reported.count(1)
            assert (failed.outlet, failed.played) == ("loudspeaker", False)
            assert desk.statuses()[1].state is OutletState.FAILING
            assert not desk.is_heard(now.monotonic())
            assert there.got == []
            now.advance_to(3.0)
            await until(lambda: len(there.got) == 1)


def _files(folder: Path) -> list[Path]:
    return sorted((folder / "calls").iterdir())
