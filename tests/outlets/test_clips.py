"""The words of calls for phones: an id for what is announced, and nothing else."""

from __future__ import annotations

import asyncio
from pathlib import Path

import numpy as np
import pytest

from pullcall.errors import UnknownNameError
from pullcall.outlets.clips import _OFFERED, Clips
from pullcall.outlets.speech import NO_PROGRAM, Speech
from pullcall.outlets.wav import from_wav, seconds_of
from tests.outlets.ears import running, until
from tests.outlets.test_speech import A_WAV, PULL, a_program, counted
from tests.tools import require_tool

NOW = "Left: pull now"


def offered(clips: Clips, text: str) -> str:
    id = clips.offer(text)
    assert id is not None
    return id


async def test_what_was_offered_can_be_had_as_audible_sound() -> None:
    require_tool("espeak-ng", "espeak-ng")
    clips = Clips(Speech("en"))
    words = from_wav(await clips.wav(offered(clips, PULL)))
    assert 0.8 < seconds_of(words) < 5.0
    assert np.abs(words.astype(int)).max() > 3000


async def test_an_id_is_sixteen_hex_letters_and_tells_words_and_voice(tmp_path: Path) -> None:
    program = a_program(tmp_path, A_WAV)
    clips = Clips(Speech("en", program))
    id = offered(clips, PULL)
    assert len(id) == 16
    assert int(id, 16) >= 0
    assert offered(clips, f" {PULL}\n") == id
    assert offered(clips, NOW) != id
    assert offered(Clips(Speech("en", program)), PULL) == id
    assert offered(Clips(Speech("de", program)), PULL) != id


@pytest.mark.parametrize("id", ["0" * 16, "", PULL, "../clips"])
async def test_what_was_not_offered_cannot_be_had(tmp_path: Path, id: str) -> None:
    clips = Clips(Speech("en", a_program(tmp_path, A_WAV)))
    clips.offer(PULL)
    with pytest.raises(UnknownNameError, match="load the page again"):
        await clips.wav(id)


async def test_the_text_offered_longest_ago_is_forgotten(tmp_path: Path) -> None:
    clips = Clips(Speech("en", a_program(tmp_path, A_WAV)))
    first, second = offered(clips, "0"), offered(clips, "1")
    for number in range(2, _OFFERED):
        clips.offer(str(number))
    clips.offer("0")
    clips.offer("one more")
    assert await clips.wav(first)
    with pytest.raises(UnknownNameError):
        await clips.wav(second)


async def test_what_was_offered_is_rendered_ahead_and_once(tmp_path: Path) -> None:
    require_tool("espeak-ng", "espeak-ng")
    seen = tmp_path / "seen"
    speech = Speech("en", a_program(tmp_path, counted(seen)))
    clips = Clips(speech)
    async with running(clips.run()):
        id = offered(clips, PULL)
        await until(lambda: bool(speech._kept))
        for _ in range(3):
            assert await clips.wav(offered(clips, PULL)) == await clips.wav(id)
    assert seen.read_text() == "x"


async def test_without_speech_nothing_is_offered() -> None:
    clips = Clips(None)
    assert clips.offer(PULL) is None
    with pytest.raises(UnknownNameError):
        await clips.wav("0" * 16)
    missing = Clips(Speech("en", "no-such-program-for-speech"))
    assert missing.offer(PULL) is None


async def test_a_voice_that_fails_is_offered_no_more_until_it_works(tmp_path: Path) -> None:
    speech = Speech("en", a_program(tmp_path, "raise SystemExit(1)"))
    clips = Clips(speech)
    id = offered(clips, PULL)
    with pytest.raises(UnknownNameError, match="check \\[loudspeaker\\] voice"):
        await clips.wav(id)
    assert clips.offer(PULL) is None
    a_program(tmp_path, A_WAV)
    async with running(clips.run()):
        await until(lambda: clips.offer(PULL) == id)
    assert seconds_of(from_wav(await clips.wav(id))) > 0


async def test_a_program_that_disappears_is_named(tmp_path: Path) -> None:
    program = Path(a_program(tmp_path, A_WAV))
    clips = Clips(Speech("en", str(program)))
    id = offered(clips, PULL)
    await asyncio.to_thread(program.unlink)
    with pytest.raises(UnknownNameError) as refused:
        await clips.wav(id)
    assert str(refused.value) == NO_PROGRAM


async def test_a_render_that_takes_too_long_is_refused_and_comes_later(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("pullcall.outlets.clips._PATIENCE_S", 0.05)
    gate = tmp_path / "gate"
    wait = f"import os, time\nwhile not os.path.exists({str(gate)!r}): time.sleep(0.01)\n"
    speech = Speech("en", a_program(tmp_path, wait + A_WAV))
    clips = Clips(speech)
    id = offered(clips, PULL)
    with pytest.raises(UnknownNameError, match="ask again"):
        await clips.wav(id)
    await asyncio.to_thread(gate.touch)
    async with running(clips.run()):
        await until(lambda: bool(speech._kept))
    assert await clips.wav(id)
