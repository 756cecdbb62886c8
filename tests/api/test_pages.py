"""The page's files: each under the address of one version of them all."""

from __future__ import annotations

import re
import shutil
from collections.abc import AsyncIterator
from pathlib import Path

import httpx
import pytest
from fastapi import FastAPI

from pullcall.api import pages

AT_ROOT = {"index.html", "logbook.html", "board.html", "worker.js", "manifest.webmanifest"}


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A copy of the page, to be changed."""
    copy = tmp_path / "page"
    shutil.copytree(pages.PAGE, copy)
    monkeypatch.setattr(pages, "PAGE", copy)
    return copy


def _client(site: pages.Pages) -> httpx.AsyncClient:
    app = FastAPI()
    site.serve(app)
    transport = httpx.ASGITransport(app)
    return httpx.AsyncClient(transport=transport, base_url="http://site")


@pytest.fixture
async def client(folder: Path) -> AsyncIterator[httpx.AsyncClient]:
    async with _client(pages.Pages({})) as client:
        yield client


def _named(text: str) -> set[str]:
    return set(re.findall(r"page/(v-[0-9a-f]{12})/", text))


async def test_the_index_asks_for_files_of_one_version_only(client: httpx.AsyncClient) -> None:
    text = (await client.get("/")).text
    asked = re.findall(r'(?:href|src)="([^"]+)"', text)
    assert len(_named(text)) == 1
    assert len(asked) >= 5
    for address in asked:
        assert (await client.get(address)).status_code == 200, address


async def test_a_file_by_its_version_may_be_kept_and_by_its_name_is_asked_for_anew(
    client: httpx.AsyncClient,
) -> None:
    (version,) = _named((await client.get("/")).text)
    kept = await client.get(f"/page/{version}/main.js")
    assert kept.headers["cache-control"] == "public, max-age=31536000, immutable"
    assert kept.headers["content-type"].startswith("text/javascript")
    fresh = await client.get("/page/main.js")
    assert fresh.content == kept.content
    assert "immutable" not in fresh.headers.get("cache-control", "")
    assert (await client.get("/")).headers["cache-control"] == "no-cache"


async def test_a_changed_file_is_another_version_and_the_old_one_is_gone(
    client: httpx.AsyncClient, folder: Path
) -> None:
    (before,) = _named((await client.get("/")).text)
    (folder / "words.js").write_text("// another\n", encoding="utf-8")
    (after,) = _named((await client.get("/")).text)
    assert after != before
    assert (await client.get(f"/page/{after}/words.js")).text == "// another\n"
    assert (await client.get(f"/page/{before}/words.js")).status_code == 404


async def test_the_worker_is_told_the_version_and_every_file_of_it(
    client: httpx.AsyncClient,
) -> None:
    (version,) = _named((await client.get("/")).text)
    text = (await client.get("/worker.js")).text
    told = text.splitlines()[0]
    assert f'VERSION = "{version}"' in told
    files = set(re.findall(rf'"page/{version}/([^"]+)"', told))
    own = {name for name in pages.Pages({}).files() if not name.startswith("board/")}
    assert files == own - AT_ROOT
    for name in files:
        assert (await client.get(f"/page/{version}/{name}")).status_code == 200, name


@pytest.mark.parametrize(
    "path", ["/page/../pages.py", "/page/%2e%2e/pages.py", "/page/v-0/main.js"]
)
async def test_nothing_but_the_pages_files_is_served(client: httpx.AsyncClient, path: str) -> None:
    assert (await client.get(path)).status_code == 404


async def test_a_file_that_the_build_carries_belongs_to_the_version(
    folder: Path, tmp_path: Path
) -> None:
    carried = tmp_path / "chart.js"
    carried.write_text("// chart\n", encoding="utf-8")
    site = pages.Pages({"vendor/chart.js": carried})
    before = site.folder()
    async with _client(site) as client:
        assert (await client.get(f"/page/{before}/vendor/chart.js")).text == "// chart\n"
    carried.write_text("// another\n", encoding="utf-8")
    assert site.folder() != before
