"""The route of the words of calls: a WAV file to keep, or a problem with a sentence."""

from __future__ import annotations

import io
import wave
from collections.abc import AsyncIterator
from datetime import UTC, datetime
from types import SimpleNamespace

import httpx
import pytest
from fastapi import FastAPI

from pullcall.api import problem
from pullcall.api.routes import clips
from pullcall.events import CookHeader, SteakSettings
from pullcall.outlets.clips import Clips
from pullcall.outlets.speech import NO_PROGRAM, Speech
from pullcall.site.recorded import RecordedSite
from tests.recorded import bare_recording
from tests.tools import require_tool

HEADER = CookHeader("c", datetime(2026, 6, 13, tzinfo=UTC).isoformat(), (SteakSettings("left"),))


@pytest.fixture
def speech() -> Speech:
    return Speech("en")


@pytest.fixture
def words(speech: Speech) -> Clips:
    return Clips(speech)


@pytest.fixture
async def client(words: Clips) -> AsyncIterator[httpx.AsyncClient]:
    async with client_of(SimpleNamespace(clip=words.wav)) as client:
        yield client


def client_of(site: object) -> httpx.AsyncClient:
    """The route alone around a site; who may ask is tested with the guard."""
    app = FastAPI()
    app.state.site = site
    problem.install(app)
    app.include_router(clips.router, prefix="/api/v1")
    transport = httpx.ASGITransport(app=app)
    return httpx.AsyncClient(transport=transport, base_url="http://127.0.0.1")


async def test_the_words_of_a_call_come_as_a_wav_file_to_keep(
    client: httpx.AsyncClient, words: Clips
) -> None:
    require_tool("espeak-ng", "espeak-ng")
    answer = await client.get(f"/api/v1/clips/{words.offer('Left: pull now')}")
    assert answer.status_code == 200
    assert answer.headers["content-type"] == "audio/wav"
    assert answer.headers["cache-control"] == "private, max-age=3600, immutable"
    with wave.open(io.BytesIO(answer.content)) as file:
        assert (file.getnchannels(), file.getsampwidth()) == (1, 2)
        assert file.getnframes() > file.getframerate() / 2
        assert len(answer.content) == 44 + 2 * file.getnframes(), "the header tells its length"


@pytest.mark.parametrize("id", ["0123456789abcdef", "Left:%20pull%20now"])
async def test_words_that_no_call_has_are_not_found(client: httpx.AsyncClient, id: str) -> None:
    answer = await client.get(f"/api/v1/clips/{id}")
    assert answer.status_code == 404
    assert answer.headers["content-type"] == "application/problem+json"
    assert answer.json()["detail"] == "No call has these words any more: load the page again."
    assert "cache-control" not in answer.headers


async def test_without_the_program_the_answer_says_what_to_install(
    client: httpx.AsyncClient, words: Clips, speech: Speech, monkeypatch: pytest.MonkeyPatch
) -> None:
    require_tool("espeak-ng", "espeak-ng")
    id = words.offer("Left: pull now")
    monkeypatch.setenv("PATH", "")
    answer = await client.get(f"/api/v1/clips/{id}")
    assert (answer.status_code, answer.json()["detail"]) == (404, NO_PROGRAM)


async def test_a_replay_does_not_speak() -> None:
    site = RecordedSite(HEADER, bare_recording(), "F", 1)
    async with client_of(site) as client:
        answer = await client.get("/api/v1/clips/0123456789abcdef")
    assert answer.status_code == 404
    assert "A replay does not speak" in answer.json()["detail"]
