"""The page asks for the chart library only where the site has the whole of it."""

from __future__ import annotations

from pathlib import Path

import pytest
from fastapi import FastAPI
from httpx import ASGITransport, AsyncClient

from pullcall.api import carried
from pullcall.api.pages import PAGE, Pages

NAMES = ("uPlot.iife.min.js", "uPlot.min.css", "LICENSE")


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Where a build would lay the library; empty."""
    monkeypatch.setattr(carried, "_FOLDERS", (tmp_path / "none", tmp_path))
    (tmp_path / "vendor/uplot").mkdir(parents=True)
    return tmp_path / "vendor/uplot"


def _client() -> AsyncClient:
    app = FastAPI()
    Pages(carried.carried()).serve(app)
    return AsyncClient(transport=ASGITransport(app), base_url="http://grill.local")


async def test_a_whole_library_is_asked_for_before_the_pages_own_script(folder: Path) -> None:
    for name in NAMES:
        (folder / name).write_text(f"/* {name} */", encoding="utf-8")
    async with _client() as client:
        text = (await client.get("/")).text
        sheet, script = text.index("uPlot.min.css"), text.index("uPlot.iife.min.js")
        assert 0 < sheet < script < text.index("main.js")
        for name in NAMES:
            answer = await client.get(f"/page/vendor/uplot/{name}")
            assert answer.text == f"/* {name} */"


@pytest.mark.parametrize("lacking", NAMES)
async def test_a_part_of_the_library_is_as_good_as_none(folder: Path, lacking: str) -> None:
    for name in set(NAMES) - {lacking}:
        (folder / name).write_text("", encoding="utf-8")
    assert carried.carried() == {}
    async with _client() as client:
        text = (await client.get("/")).text
        assert "uPlot" not in text
        assert "chart library" not in text
        assert (await client.get("/page/vendor/uplot/uPlot.iife.min.js")).status_code == 404


async def test_files_travel_compressed_and_arrive_whole(folder: Path) -> None:
    async with _client() as client:
        answer = await client.get("/page/style.css")
        assert answer.headers["content-encoding"] == "gzip"
        assert answer.text == (PAGE / "style.css").read_text(encoding="utf-8")
        plain = await client.get("/page/style.css", headers={"accept-encoding": "identity"})
        assert "content-encoding" not in plain.headers
        assert plain.text == answer.text
