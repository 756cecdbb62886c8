"""Words rendered by the real program, and what happens without it."""

from __future__ import annotations

import asyncio
import sys
from pathlib import Path

import numpy as np
import pytest

from pullcall.command import Ended
from pullcall.errors import ConfigError
from pullcall.outlets.speech import NO_PROGRAM, Speech, spoken
from pullcall.outlets.wav import seconds_of
from tests.outlets.ears import running, until
from tests.tools import require_tool

PULL = "Left: pull in about 40"


def a_program(folder: Path, body: str) -> str:
    """A stand-in for the speech program that runs ``body`` in Python."""
    path = folder / "speaks"
    path.write_text(f"#!{sys.executable}\n{body}\n")
    path.chmod(0o755)
    return str(path)


def counted(seen: Path) -> str:
    """The real program, with a letter in ``seen`` for each time it ran."""
    return (
        "import subprocess, sys\n"
        f"open({str(seen)!r}, 'a').write('x')\n"
        "sys.exit(subprocess.run(['espeak-ng', *sys.argv[1:]]).returncode)"
    )


#: A program that gives a hundred samples, whatever it is asked for.
A_WAV = (
    "import sys, wave\n"
    "w = wave.open(sys.stdout.buffer, 'wb')\n"
    "w.setnchannels(1); w.setsampwidth(2); w.setframerate(22050)\n"
    "w.setnframes(100)\n"
    "w.writeframesraw(bytes(200))\n"
)


def espeak() -> Speech:
    require_tool("espeak-ng", "espeak-ng")
    return Speech("en")


async def test_words_are_rendered_as_seconds_of_audible_sound() -> None:
    words = await espeak().words([PULL])
    assert words is not None
    assert 0.8 < seconds_of(words) < 5.0
    assert np.abs(words.astype(int)).max() > 3000


async def test_several_texts_follow_one_another_in_order() -> None:
    speech = espeak()
    one, two = await speech.words(["Both: turn now"]), await speech.words([PULL])
    both = await speech.words(["Both: turn now", PULL])
    assert one is not None and two is not None and both is not None
    assert both[: len(one)].tolist() == one.tolist()
    assert both[-len(two) :].tolist() == two.tolist()


async def test_a_name_that_looks_like_an_option_or_markup_is_only_spoken(tmp_path: Path) -> None:
    speech = espeak()
    target = tmp_path / "written.wav"
    for text in (f"-w {target}", f"--stdout -f {target}", "[[h@'loU]] <break/>", "\x00\n-v xx"):
        assert await speech.words([text]) is not None
    assert not target.exists()


async def test_what_was_prepared_is_there_without_the_program(tmp_path: Path) -> None:
    require_tool("espeak-ng", "espeak-ng")
    seen = tmp_path / "seen"
    speech = Speech("en", a_program(tmp_path, counted(seen)))
    async with running(speech.run()):
        speech.prepare([PULL, PULL])
        await until(lambda: seen.exists() and bool(speech._kept))
    assert await speech.words([PULL]) is not None
    assert seen.read_text() == "x"


async def test_a_program_that_fails_is_not_asked_again_and_again_ahead(tmp_path: Path) -> None:
    seen = tmp_path / "seen"
    body = f"open({str(seen)!r}, 'a').write('x')\nraise SystemExit(1)"
    speech = Speech("en", a_program(tmp_path, body))
    async with running(speech.run()):
        speech.prepare([f"Left: pull in about {number}" for number in range(10)])
        await until(lambda: speech.note != "" and not speech._waiting)
    assert seen.read_text() == "x"


async def test_a_fault_while_rendering_ahead_does_not_end_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    tried: list[str] = []

    async def broken(command: tuple[str, ...], given: bytes) -> Ended:
        tried.append(given.decode())
        raise RuntimeError("broken")

    monkeypatch.setattr("pullcall.outlets.speech.run_command", broken)
    monkeypatch.setattr("pullcall.outlets.speech._AGAIN_S", 0.0)
    speech = Speech("en", a_program(tmp_path, A_WAV))
    async with running(speech.run()):
        for number in (1, 2):
            speech.prepare([f"text {number}"])
            await until(lambda number=number: len(tried) == number)  # type: ignore[misc]
    assert tried == ["text 1", "text 2"]


async def test_what_many_ask_for_at_once_is_rendered_once(tmp_path: Path) -> None:
    require_tool("espeak-ng", "espeak-ng")
    seen = tmp_path / "seen"
    speech = Speech("en", a_program(tmp_path, counted(seen)))
    all_words = await asyncio.gather(*(speech.words([PULL]) for _ in range(8)))
    assert all(words is not None and len(words) for words in all_words)
    assert seen.read_text() == "x"


async def test_it_is_known_at_once_whether_words_can_be_had(tmp_path: Path) -> None:
    assert not Speech("en", "no-such-program-for-speech").can_say(PULL)
    speech = Speech("en", a_program(tmp_path, A_WAV))
    assert speech.can_say(PULL)
    assert await speech.words([PULL]) is not None
    a_program(tmp_path, "raise SystemExit(1)")
    assert await speech.words(["Left: pull now"]) is None
    assert not speech.can_say("Left: pull now")
    assert speech.can_say(PULL), "it is rendered"


async def test_texts_reach_the_program_on_standard_input_only(tmp_path: Path) -> None:
    seen = tmp_path / "seen"
    body = f"import sys\nopen({str(seen)!r}, 'w').write(repr(sys.argv) + sys.stdin.read())"
    assert await Speech("en", a_program(tmp_path, body)).words(["--evil name"]) is None
    arguments, _, text = seen.read_text().partition("]")
    assert "evil" not in arguments
    assert text == "--evil name"


async def test_without_the_program_there_are_no_words_and_a_note_that_says_what_to_do() -> None:
    speech = Speech("en", "no-such-program-for-speech")
    assert await speech.words([PULL]) is None
    assert speech.note == NO_PROGRAM


async def test_a_program_that_fails_gives_no_words_and_a_note_until_it_works(
    tmp_path: Path,
) -> None:
    speech = Speech("en", a_program(tmp_path, "raise SystemExit(1)"))
    assert await speech.words([PULL]) is None
    assert "check [loudspeaker] voice" in speech.note
    a_program(tmp_path, A_WAV)
    assert await speech.words([PULL]) is not None
    assert speech.note == ""


def test_a_voice_that_could_be_an_option_is_refused() -> None:
    with pytest.raises(ConfigError, match="name of a voice"):
        Speech("--stdout")


def test_only_what_can_be_spoken_is_left_of_a_text() -> None:
    assert spoken(" Left:\n[[pull]]\x07 <now>  ") == "Left: pull now"
    assert len(spoken("x" * 1000)) == 200
