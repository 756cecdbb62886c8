"""The loudspeaker on a player of the test's own, and on a folder of WAV files."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncGenerator, Callable
from pathlib import Path

import numpy as np
import pytest

from pullcall.events import CallKind
from pullcall.outlets.floor import STALE_S
from pullcall.outlets.folder_player import FolderPlayer
from pullcall.outlets.loudspeaker import Loudspeaker
from pullcall.outlets.outlet import OutletState
from pullcall.outlets.player import PlayerError
from pullcall.outlets.speech import NO_PROGRAM, Speech
from pullcall.outlets.tones import STEAK_HZ, burst_tone, pitches
from pullcall.outlets.wav import Samples, from_wav, seconds_of
from tests.outlets.ears import Reported, call, clock, running, settle, until
from tests.outlets.test_speech import a_program
from tests.outlets.test_tones import pitch_of, pulse_ranges
from tests.tools import require_tool


class Stage:
    """A player whose sounds last until the test lets them end."""

    def __init__(self) -> None:
        self.fault: str | None = None
        self.checks = 0
        self.heard: list[Samples] = []
        self.now: Samples | None = None
        self.stopped = 0
        self._over = asyncio.Event()

    async def check(self) -> None:
        self.checks += 1
        if self.fault:
            raise PlayerError(self.fault)

    async def play(self, parts: AsyncGenerator[Samples], played: Callable[[], None]) -> None:
        if self.fault:
            raise PlayerError(self.fault)
        try:
            async for samples in parts:
                assert self.now is None, "two voices at a time"
                self.now = samples
                await self._over.wait()
                self._over.clear()
                self.heard.append(samples)
                self.now = None
                played()
        finally:
            self.stopped += self.now is not None
            self.now = None

    def end_part(self) -> None:
        """The part that sounds comes to its end."""
        self._over.set()


class Speaker:
    """A loudspeaker without words on a stage, with what it reported."""

    def __init__(self) -> None:
        self.stage = Stage()
        self.clock = clock()
        self.outlet = Loudspeaker(self.stage, Speech("en", "no-such-program"), self.clock)
        self.outlet.begin_cook(("left", "right"))
        self.reported = Reported()

    async def sounds(self) -> Samples:
        """What sounds, once something does."""
        await until(lambda: self.stage.now is not None)
        assert self.stage.now is not None
        return self.stage.now

    def told(self) -> list[tuple[str, bool]]:
        return [(report.call.id, report.played) for report in self.reported.all]


async def test_a_call_is_played_once_its_tone_has_sounded() -> None:
    speaker = Speaker()
    async with running(speaker.outlet.run(speaker.reported)):
        speaker.outlet.announce((call("c1"),))
        assert (await speaker.sounds()).tolist() == burst_tone(1, (STEAK_HZ[0],)).tolist()
        assert speaker.told() == []
        speaker.stage.end_part()
        await speaker.reported.count(1)
    assert speaker.told() == [("c1", True)]
    status = speaker.outlet.status()
    assert (status.state, status.last_played) == (OutletState.OK, 0.0)


async def test_a_burst_sounds_as_its_most_urgent_call_and_is_reported_call_by_call() -> None:
    speaker = Speaker()
    burst = (call("c1", steaks=("right",)), call("c2", steaks=("left",), priority=2))
    async with running(speaker.outlet.run(speaker.reported)):
        speaker.outlet.announce(burst)
        assert (await speaker.sounds()).tolist() == burst_tone(1, (STEAK_HZ[1],)).tolist()
        speaker.stage.end_part()
        await speaker.reported.count(2)
    assert speaker.told() == [("c1", True), ("c2", True)]


async def test_an_urgent_burst_stops_a_lesser_one_that_sounds() -> None:
    speaker = Speaker()
    async with running(speaker.outlet.run(speaker.reported)):
        speaker.outlet.announce((call("later", priority=3, steaks=()),))
        await speaker.sounds()
        speaker.outlet.announce((call("urgent"),))
        await until(lambda: speaker.stage.stopped == 1)
        assert (await speaker.sounds()).tolist() == burst_tone(1, (STEAK_HZ[0],)).tolist()
        speaker.stage.end_part()
        await speaker.reported.count(2)
    assert speaker.told() == [("later", False), ("urgent", True)]


async def test_a_burst_stopped_before_its_first_sound_is_reported_too() -> None:
    speaker = Speaker()
    async with running(speaker.outlet.run(speaker.reported)):
        await until(lambda: speaker.outlet.status().state is OutletState.OK)
        speaker.outlet.announce((call("later", priority=3),))
        while speaker.outlet._sounding is None:  # noqa: ASYNC110
            await asyncio.sleep(0)
        assert speaker.stage.now is None
        speaker.outlet.announce((call("urgent"),))
        await speaker.sounds()
        speaker.stage.end_part()
        await speaker.reported.count(2)
    assert speaker.told() == [("later", False), ("urgent", True)]


async def test_a_lesser_burst_waits_for_the_urgent_one_to_end() -> None:
    speaker = Speaker()
    async with running(speaker.outlet.run(speaker.reported)):
        speaker.outlet.announce((call("urgent"),))
        urgent = await speaker.sounds()
        speaker.outlet.announce((call("later", priority=2),))
        await settle()
        assert speaker.stage.now is urgent
        speaker.stage.end_part()
        await speaker.reported.count(1)
        await speaker.sounds()
        speaker.stage.end_part()
        await speaker.reported.count(2)
    assert speaker.told() == [("urgent", True), ("later", True)]


async def test_a_burst_that_waited_too_long_is_reported_failed_and_not_sounded() -> None:
    speaker = Speaker()
    async with running(speaker.outlet.run(speaker.reported)):
        speaker.outlet.announce((call("long"),))
        await speaker.sounds()
        speaker.outlet.announce((call("late", priority=2),))
        speaker.clock.advance_to(STALE_S + 1.0)
        speaker.stage.end_part()
        await speaker.reported.count(2)
        await settle()
        assert speaker.stage.now is None
    assert speaker.told() == [("long", True), ("late", False)]


async def test_an_urgent_burst_does_not_wait_for_the_lesser_words_of_another(
    tmp_path: Path,
) -> None:
    require_tool("espeak-ng", "espeak-ng")
    speaker = Speaker()
    outlet = Loudspeaker(speaker.stage, speech := Speech("en"), speaker.clock)
    urgent = await speech.words(["Left: pull now"])
    assert urgent is not None
    async with running(outlet.run(speaker.reported)):
        outlet.announce(
            (call("c1", text="Left: pull now"), call("c2", priority=2, text="Right: turn now"))
        )
        await speaker.sounds()
        speaker.stage.end_part()
        await speaker.reported.count(2)
        outlet.announce((call("c3", text="Right: pull now"),))
        assert (await speaker.sounds())[-len(urgent) :].tolist() == urgent.tolist()
        speaker.stage.end_part()
        await until(lambda: len(speaker.stage.heard) == 2)
        assert (await speaker.sounds()).tolist() == burst_tone(1, pitches((), ())).tolist()
    assert speaker.told()[:2] == [("c1", True), ("c2", True)]


async def test_an_insistent_alarm_goes_on_until_it_is_answered() -> None:
    speaker = Speaker()
    async with running(speaker.outlet.run(speaker.reported)):
        speaker.outlet.announce((call("c1", insistent=True),))
        for number in (1, 2, 3):
            await speaker.sounds()
            speaker.stage.end_part()
            await until(lambda number=number: len(speaker.stage.heard) == number)  # type: ignore[misc]
        await speaker.sounds()
        speaker.outlet.silence("c1")
        await until(lambda: speaker.stage.stopped == 1)
        await settle()
        assert speaker.stage.now is None
    assert len(pulse_ranges(speaker.stage.heard[1])) > 5


async def test_an_insistent_alarm_yields_to_the_next_burst() -> None:
    speaker = Speaker()
    async with running(speaker.outlet.run(speaker.reported)):
        speaker.outlet.announce((call("c1", insistent=True),))
        await speaker.sounds()
        speaker.stage.end_part()
        await speaker.reported.count(1)
        await speaker.sounds()
        speaker.outlet.announce((call("c2", priority=2, steaks=("right",)),))
        await until(lambda: speaker.stage.stopped == 1)
        assert (await speaker.sounds()).tolist() == burst_tone(2, (STEAK_HZ[1],)).tolist()


async def test_a_failing_player_is_reported_and_recovers_by_itself() -> None:
    speaker = Speaker()
    speaker.stage.fault = "the plug is out"
    async with running(speaker.outlet.run(speaker.reported)):
        speaker.outlet.announce((call("c1"),))
        [report] = await speaker.reported.count(1)
        assert (report.played, report.note) == (False, "the plug is out")
        status = speaker.outlet.status()
        assert (status.state, status.note) == (OutletState.FAILING, "the plug is out")
        speaker.stage.fault = None
        await settle()
        speaker.clock.advance_to(60.0)
        await until(lambda: speaker.outlet.status().state is OutletState.OK)
        speaker.outlet.announce((call("c2"),))
        await speaker.sounds()
        speaker.stage.end_part()
        await speaker.reported.count(2)
    assert speaker.told() == [("c1", False), ("c2", True)]


async def test_while_the_player_fails_it_is_checked_less_and_less_often() -> None:
    speaker = Speaker()
    speaker.stage.fault = "the plug is out"
    checked_at: list[float] = []
    async with running(speaker.outlet.run(speaker.reported)):
        for second in range(120):
            before = speaker.stage.checks
            speaker.clock.advance_to(float(second))
            await settle()
            checked_at += [float(second)] * (speaker.stage.checks - before)
    waits = np.diff(checked_at)
    assert (np.diff(waits) >= 0).all()
    assert waits[0] == pytest.approx(1.0, abs=1.0)
    assert waits.max() == pytest.approx(30.0, abs=1.0)


async def test_each_call_is_tried_even_while_the_player_fails() -> None:
    speaker = Speaker()
    speaker.stage.fault = "the plug is out"
    async with running(speaker.outlet.run(speaker.reported)):
        await until(lambda: speaker.outlet.status().state is OutletState.FAILING)
        speaker.stage.fault = None
        speaker.outlet.announce((call("c1"),))
        await speaker.sounds()
        speaker.stage.end_part()
        await speaker.reported.count(1)
    assert speaker.told() == [("c1", True)]


async def test_without_words_the_tones_play_and_a_note_says_what_to_do(tmp_path: Path) -> None:
    speech = Speech("en", "no-such-program")
    outlet, reported = Loudspeaker(FolderPlayer(tmp_path), speech, clock()), Reported()
    async with running(outlet.run(reported)):
        outlet.announce((call("c1"),))
        [report] = await reported.count(1)
    assert report.played
    assert outlet.status().state is OutletState.OK
    assert outlet.status().note == NO_PROGRAM


async def test_words_that_come_too_late_are_left_out_and_said_the_next_time(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("pullcall.outlets.loudspeaker.PATIENCE_S", 0.05)
    gate = tmp_path / "gate"
    body = (
        "import os, sys, time, wave\n"
        f"while not os.path.exists({str(gate)!r}): time.sleep(0.01)\n"
        "w = wave.open(sys.stdout.buffer, 'wb')\n"
        "w.setnchannels(1); w.setsampwidth(2); w.setframerate(22050); w.setnframes(3)\n"
        "w.writeframesraw(bytes([7, 0] * 3))\n"
    )
    speech = Speech("en", a_program(tmp_path, body))
    outlet, reported = Loudspeaker(FolderPlayer(tmp_path), speech, clock()), Reported()
    tone = burst_tone(1, pitches((), ()))
    async with running(outlet.run(reported)), running(speech.run()):
        outlet.announce((call("c1"),))
        await reported.count(1)
        await asyncio.to_thread(gate.touch)
        await until(lambda: bool(speech._kept))
        outlet.announce((call("c2"),))
        await reported.count(2)
    first, second = (from_wav((tmp_path / f"call-000{n}.wav").read_bytes()) for n in (1, 2))
    assert first.tolist() == tone.tolist()
    assert second[: len(tone)].tolist() == tone.tolist()
    assert second[-4:].tolist() == [0, 7, 7, 7]


async def test_the_file_of_a_burst_is_its_tone_and_then_its_words(tmp_path: Path) -> None:
    require_tool("espeak-ng", "espeak-ng")
    outlet, reported = Loudspeaker(FolderPlayer(tmp_path), Speech("en"), clock()), Reported()
    outlet.begin_cook(("left", "right"))
    turn = call("c1", steaks=("left", "right"), priority=2, kind=CallKind.TURN, text="Both: turn")
    words = await Speech("en").words(["Both: turn"])
    assert words is not None
    async with running(outlet.run(reported)):
        outlet.announce((turn,))
        await reported.count(1)
    heard = from_wav((tmp_path / "call-0001.wav").read_bytes())
    tone = burst_tone(2, STEAK_HZ)
    pulses = [pitch_of(heard[a:b]) for a, b in pulse_ranges(heard[: len(tone)])]
    assert pulses == pytest.approx([STEAK_HZ[0], STEAK_HZ[1], STEAK_HZ[0]], abs=2.0)
    assert heard[-len(words) :].tolist() == words.tolist()
    between = heard[len(tone) : -len(words)]
    assert 0.1 < seconds_of(between) < 0.3
    assert set(between.tolist()) == {0}
    assert np.abs(heard.astype(int)).max() < 32767
