"""A file that is sent comes onto the disk, within a size and a time, and is gone afterwards."""

from __future__ import annotations

import asyncio
import shutil
from collections.abc import AsyncIterator
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import httpx
import pytest
from fastapi import FastAPI, Request

from pullcall.api import problem, upload
from pullcall.site.scratch import Scratch


def _app(folder: Path, most: int, seen: list[Path]) -> FastAPI:
    app = FastAPI()
    problem.install(app)

    @app.post("/file")
    async def take(request: Request) -> dict[str, Any]:
        async with upload.uploaded(request, most, Scratch(folder / "cooks.db")) as path:
            seen.append(path)
            return {"size": path.stat().st_size, "head": path.read_bytes()[:4].decode()}

    return app


def _client(app: FastAPI) -> httpx.AsyncClient:
    return httpx.AsyncClient(transport=httpx.ASGITransport(app), base_url="http://site")


def _left_in(folder: Path) -> list[Path]:
    return list(folder.iterdir())


async def _pieces(*pieces: bytes, then: float = 0.0) -> AsyncIterator[bytes]:
    for piece in pieces:
        yield piece
    await asyncio.sleep(then)


async def test_a_file_comes_whole_and_leaves_nothing_behind(tmp_path: Path) -> None:
    seen: list[Path] = []
    async with _client(_app(tmp_path, 100_000, seen)) as client:
        answer = await client.post("/file", content=_pieces(b"head", b"x" * 50_000, b"y" * 7))
    assert answer.json() == {"size": 50_011, "head": "head"}
    assert seen[0].name == "file"
    assert _left_in(tmp_path) == []


@pytest.mark.parametrize("sent", [b"x" * 2049, None])
async def test_a_larger_file_is_refused_also_where_its_size_is_not_announced(
    tmp_path: Path, sent: bytes | None
) -> None:
    content = sent if sent is not None else _pieces(*[b"x" * 1024] * 3)
    async with _client(_app(tmp_path, 2048, [])) as client:
        answer = await client.post("/file", content=content)
    assert answer.status_code == 413
    assert _left_in(tmp_path) == []


async def test_a_file_that_stops_coming_is_let_go(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(upload, "PATIENCE_S", 0.05)
    async with _client(_app(tmp_path, 2048, [])) as client:
        answer = await client.post("/file", content=_pieces(b"head", then=30.0))
    assert answer.status_code == 408
    assert _left_in(tmp_path) == []


async def test_a_file_that_drips_is_let_go(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A letter now and then would keep the place for hours, however patient each of them is."""

    async def drip() -> AsyncIterator[bytes]:
        while True:
            yield b"x"
            await asyncio.sleep(0.01)

    monkeypatch.setattr(upload, "PATIENCE_S", 0.1)
    async with _client(_app(tmp_path, 2**20, [])) as client:
        answer = await client.post("/file", content=drip())
    assert answer.status_code == 408
    assert "nearer" in answer.json()["detail"]
    assert _left_in(tmp_path) == []


async def test_a_disk_without_room_keeps_what_it_has_for_the_cook(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    full = SimpleNamespace(free=upload.RESERVE + 10)
    monkeypatch.setattr(shutil, "disk_usage", lambda folder: full)
    async with _client(_app(tmp_path, 2048, [])) as client:
        assert (await client.post("/file", content=b"x" * 11)).status_code == 507
        assert (await client.post("/file", content=b"x" * 9)).status_code == 200


async def test_a_disk_that_fills_up_as_a_file_comes_keeps_its_reserve(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def usage(folder: Path) -> SimpleNamespace:
        taken = sum(path.stat().st_size for path in tmp_path.rglob("file"))
        return SimpleNamespace(free=upload.RESERVE + 3 * 1024 * 1024 - taken)

    monkeypatch.setattr(shutil, "disk_usage", usage)
    async with _client(_app(tmp_path, 2**30, [])) as client:
        small = await client.post("/file", content=_pieces(b"head", *[b"x" * 65536] * 32))
        large = await client.post("/file", content=_pieces(b"head", *[b"x" * 65536] * 96))
    assert (small.status_code, large.status_code) == (200, 507)
    assert _left_in(tmp_path) == []
