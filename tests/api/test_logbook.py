"""The logbook behind the API: one real simulated cook that is over, and a site that runs."""

from __future__ import annotations

import asyncio
import csv
import gzip
import io
import json
import shutil
import threading
from collections.abc import AsyncIterator
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import httpx
import pytest

from pullcall.access.access import Access
from pullcall.access.role import Role
from pullcall.api import upload
from pullcall.api.app import create_app
from pullcall.api.front import Front
from pullcall.clock import RealClock
from pullcall.errors import LogError
from pullcall.events import CookHeader, SteakSettings
from pullcall.hindsight.work import put_on_shelf
from pullcall.log.backup_file import Backup
from pullcall.log.cook_file import cook_lines
from pullcall.log.store import Store
from pullcall.site import archive
from pullcall.site.live import Site
from pullcall.site.options import SiteOptions
from tests.api.site_client import NAME, Served, detail
from tests.desk import heard_desk
from tests.hindsight.cooks import demo_cook

#: Simulated, as the logged cook is: only such cooks teach it.
OPTIONS = SiteOptions(usual=CookHeader("", "", simulated=True))


@pytest.fixture(scope="module")
def logged(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a log of one cook, worked out."""
    folder = tmp_path_factory.mktemp("logged")
    recorded = demo_cook()
    with Store(folder / "cooks.db") as store:
        store.bring_in(recorded, "2026-06-13T14:03:20+00:00")
    put_on_shelf(folder / "cooks.db", recorded.header.cook, lambda percent: None)
    return folder


COOK = demo_cook().header.cook


@pytest.fixture
def state(logged: Path, tmp_path: Path) -> Path:
    """The folder as the site will find it, this test's own."""
    return Path(shutil.copytree(logged, tmp_path / "state"))


@pytest.fixture
async def site(state: Path) -> AsyncIterator[Site]:
    with Store(state / "cooks.db") as store:
        site = Site(store, RealClock(), [], OPTIONS, heard_desk())
        task = asyncio.create_task(site.run())
        yield site
        task.cancel()
        await asyncio.gather(task, return_exceptions=True)
        site.close()


@pytest.fixture
async def served(site: Site) -> Served:
    access = Access(RealClock(), None)
    app = create_app(site, access, Front(frozenset({NAME}), lambda: (f"https://{NAME}:8317/",)))
    return Served(app, site, access)


@pytest.fixture
async def client(served: Served) -> AsyncIterator[httpx.AsyncClient]:
    async with served.here() as client:
        yield client


async def asked(client: httpx.AsyncClient, path: str, **query: Any) -> Any:
    answer = await client.get(f"/api/v1/{path}", params=query)
    assert answer.status_code == 200, answer.text
    return answer.json()


async def test_a_cook_that_is_over_shows_its_facts(client: httpx.AsyncClient) -> None:
    found = await asked(client, f"cooks/{COOK}")
    assert found["row"]["over"] and not found["row"]["running"]
    left = found["facts"]["steaks"][0]
    assert left["steak"] == "left"
    assert left["peak_c"] > left["off_c"] > 50.0
    assert (found["working"], found["trouble"]) == (False, None)


async def test_the_cook_that_runs_says_less_and_cannot_be_deleted(
    client: httpx.AsyncClient, site: Site
) -> None:
    running = site.cook.header.cook
    found = await asked(client, f"cooks/{running}")
    assert found["row"]["running"] and not found["row"]["over"]
    assert found["facts"] is None and not found["working"]
    for path in ("report", "recording"):
        answer = await client.get(f"/api/v1/cooks/{running}/{path}")
        assert answer.status_code == 409
        assert "nothing is on the grate" in detail(answer)
    answer = await client.delete(f"/api/v1/cooks/{running}")
    assert answer.status_code == 409
    assert "start a new one first" in detail(answer)


async def test_the_cook_that_runs_has_its_report_once_nothing_is_on(
    client: httpx.AsyncClient, site: Site
) -> None:
    running = site.cook.header.cook
    for mark in ("on", "off", "handed_in"):
        assert (await client.post("/api/v1/marks", json={"mark": mark})).status_code == 201
    assert (await asked(client, f"cooks/{running}"))["row"]["over"]
    answer = await client.get(f"/api/v1/cooks/{running}/report")
    assert answer.status_code == 200, answer.text
    found = await asked(client, f"cooks/{running}")
    assert found["facts"]["steaks"][0]["off_t"] is not None
    assert found["row"]["running"]


async def test_what_is_written_stands_and_is_found(client: httpx.AsyncClient) -> None:
    notes = [
        {"steak": None, "name": "place", "value": "Alder Ford"},
        {"steak": None, "name": "score.crust", "value": 8.5},
        {"steak": "left", "name": "weight_g", "value": 480},
    ]
    answer = await client.patch(f"/api/v1/cooks/{COOK}", json={"notes": notes})
    assert answer.status_code == 200
    assert answer.json()["row"]["place"] == "Alder Ford"
    assert answer.json()["notes"] == notes
    (row,) = await asked(client, "cooks", words="alder crust")
    assert row["cook"] == COOK and row["steaks"][0]["weight_g"] == 480
    assert await asked(client, "cooks", words="alder nowhere") == []


async def test_of_several_notes_all_are_written_or_none(client: httpx.AsyncClient) -> None:
    notes = [
        {"steak": None, "name": "place", "value": "Alder Ford"},
        {"steak": "middle", "name": "notes", "value": "lost"},
    ]
    answer = await client.patch(f"/api/v1/cooks/{COOK}", json={"notes": notes})
    assert answer.status_code == 404
    assert "middle" in detail(answer)
    assert (await asked(client, f"cooks/{COOK}"))["notes"] == []


async def test_a_cook_nobody_logged_is_not_found(client: httpx.AsyncClient) -> None:
    for path in ("cooks/none", "cooks/none/report", "cooks/none/recording"):
        answer = await client.get(f"/api/v1/{path}")
        assert answer.status_code == 404
        assert "pullcall logbook" in detail(answer)


async def test_a_deleted_cook_is_gone_with_all_that_was_worked_out(
    client: httpx.AsyncClient, site: Site
) -> None:
    derived = site.archive.log.with_name(f"{site.archive.log.name}.derived")
    assert _files_in(derived)
    assert (await client.delete(f"/api/v1/cooks/{COOK}")).status_code == 204
    assert (await client.get(f"/api/v1/cooks/{COOK}")).status_code == 404
    assert not _files_in(derived)


async def test_a_cook_that_is_worked_out_is_not_brought_back_by_that(
    client: httpx.AsyncClient, site: Site
) -> None:
    derived = site.archive.log.with_name(f"{site.archive.log.name}.derived")
    site.archive.over(COOK)
    assert (await asked(client, f"cooks/{COOK}"))["working"]
    assert (await client.delete(f"/api/v1/cooks/{COOK}")).status_code == 204
    assert site.archive.working() == 0
    assert not _files_in(derived)


@pytest.fixture
def derived_is_a_file(state: Path) -> None:
    derived = state / "cooks.db.derived"
    shutil.rmtree(derived)
    derived.write_text("no folder")


@pytest.mark.usefixtures("derived_is_a_file")
async def test_a_folder_of_derived_files_that_is_none_holds_up_no_deletion(
    client: httpx.AsyncClient, site: Site
) -> None:
    assert not (site.archive.log.parent / "cooks.db.derived").is_dir()
    assert (await client.delete(f"/api/v1/cooks/{COOK}")).status_code == 204


async def test_a_deletion_that_left_traces_is_asked_for_again(
    client: httpx.AsyncClient, site: Site, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(store: Store) -> None:
        raise LogError("No room: make room.")

    monkeypatch.setattr(Store, "wipe", full)
    answer = await client.delete(f"/api/v1/cooks/{COOK}")
    assert (answer.status_code, detail(answer)) == (503, "No room: make room.")
    assert (await client.get(f"/api/v1/cooks/{COOK}")).status_code == 404
    monkeypatch.undo()
    running = site.cook.header.cook
    assert (await client.delete(f"/api/v1/cooks/{running}")).status_code == 409
    assert (await client.delete(f"/api/v1/cooks/{COOK}")).status_code == 204
    assert (await client.delete(f"/api/v1/cooks/{COOK}")).status_code == 404


async def test_nothing_long_is_done_to_the_log_while_meat_is_on(
    client: httpx.AsyncClient,
) -> None:
    await client.post("/api/v1/marks", json={"mark": "on"})
    for ask in (
        client.delete(f"/api/v1/cooks/{COOK}"),
        client.post("/api/v1/restore", content=b"x"),
        client.post("/api/v1/import?name=x.jsonl", content=b"x"),
    ):
        answer = await ask
        assert answer.status_code == 409
        assert "once all is handed in" in detail(answer)


async def test_the_recording_comes_as_lines_with_what_came_true(client: httpx.AsyncClient) -> None:
    answer = await client.get(f"/api/v1/cooks/{COOK}/recording")
    assert answer.headers["content-type"] == "application/x-ndjson"
    first, *rest = [json.loads(line) for line in answer.text.splitlines()]
    assert first["type"] == "recording" and first["cook"] == COOK
    assert {steak["steak"] for steak in first["truth"]} == {"left", "right"}
    assert rest[-1]["type"] == "snapshot"


async def test_the_report_may_load_nothing_but_its_own_style(client: httpx.AsyncClient) -> None:
    notes = [{"steak": None, "name": "notes", "value": "<script>alert(1)</script>"}]
    await client.patch(f"/api/v1/cooks/{COOK}", json={"notes": notes})
    answer = await client.get(f"/api/v1/cooks/{COOK}/report", params={"unit": "C"})
    assert answer.headers["content-type"].startswith("text/html")
    policy = answer.headers["content-security-policy"]
    assert "default-src 'none'" in policy and "style-src 'sha256-" in policy
    assert "<script" not in answer.text


async def test_a_comparison_needs_two_cooks_that_differ(client: httpx.AsyncClient) -> None:
    for path in ("comparison", "comparison/chart"):
        one = await client.get(f"/api/v1/{path}", params={"cook": COOK})
        same = await client.get(f"/api/v1/{path}", params={"cook": [COOK, COOK]})
        assert (one.status_code, same.status_code) == (422, 409)


async def test_a_file_that_is_imported_is_worked_out_and_compared(
    client: httpx.AsyncClient, site: Site
) -> None:
    refused = await client.post("/api/v1/import?name=log.jsonl", content=b"SQLite format 3")
    assert refused.status_code == 422
    assert "first line" in detail(refused)
    unnamed = await client.post("/api/v1/import?name=pit.csv&columns=time:s", content=b"s\n1\n")
    assert unnamed.status_code == 422
    odd = CookHeader("a/b", "2026-06-13T13:40:00Z", (SteakSettings("left"),))
    lines = "\n".join(cook_lines(odd, ())).encode()
    assert (await client.post("/api/v1/import?name=log.jsonl", content=lines)).status_code == 422
    rows = "".join(f"{t};{40 + 0.02 * t:.1f}\n" for t in range(0, 400, 2))
    query = {"name": "pit.csv", "columns": "time:s,left:core", "unit": "C", "on": "left:0"}
    answer = await client.post("/api/v1/import", params=query, content=f"s;core\n{rows}".encode())
    assert answer.status_code == 200, answer.text
    assert answer.json()["broken"] == []
    known = await client.post("/api/v1/import", params=query, content=f"s;core\n{rows}".encode())
    assert (known.status_code, "already" in detail(known)) == (409, True)
    cooks = [COOK, answer.json()["cook"]]
    compared = await asked(client, "comparison", cook=cooks, unit="F")
    assert compared["cooks"] == cooks
    assert all(len(row["values"]) == 2 for row in compared["rows"])
    chart = await client.get("/api/v1/comparison/chart", params={"cook": cooks})
    assert chart.headers["content-type"] == "image/svg+xml"
    assert chart.text.startswith("<svg")


async def test_the_tables_come_as_files(client: httpx.AsyncClient) -> None:
    schema = json.loads((await client.get("/api/v1/logbook/schema")).text)
    answer = await client.get("/api/v1/logbook/csv")
    assert "attachment" in answer.headers["content-disposition"]
    names, *lines = csv.reader(io.StringIO(answer.text))
    assert names == [field["name"] for field in schema["fields"]]
    assert len(lines) == 4, "two cooks of two steaks"
    assert (await client.get("/api/v1/logbook/jsonl")).text.count("\n") == 4
    assert (await client.get("/api/v1/logbook/parquet")).content[:4] == b"PAR1"
    assert (await client.get("/api/v1/logbook/xls")).status_code == 422


async def test_what_was_learned_is_chosen_and_counts_from_the_next_cook(
    client: httpx.AsyncClient, site: Site
) -> None:
    lessons = {one["name"]: one for one in (await asked(client, "learned"))["lessons"]}
    assert lessons["reaction"]["cooks"] == 1
    assert {one["cook"] for one in lessons["reaction"]["evidence"]} == {COOK}
    answer = await client.put("/api/v1/learned/reaction", json={"mode": "own", "value": 4.0})
    assert answer.status_code == 200
    before = site.cook.setup.lessons
    await client.post("/api/v1/cooks", json={})
    assert before.reaction_s != site.cook.setup.lessons.reaction_s == 4.0
    snapshot = await asked(client, "snapshot")
    taught = next(one for one in snapshot["readiness"] if one["name"] == "taught")
    assert "2.5 s earlier" in taught["words"]
    await client.put("/api/v1/learned/reaction", json={"mode": "default"})
    await client.post("/api/v1/cooks", json={})
    assert site.cook.setup.lessons.reaction_s == 0.0


@pytest.mark.parametrize(
    ("name", "body", "status", "says"),
    [
        ("reaction", {"mode": "own", "value": 400.0}, 409, "between"),
        ("grill", {"mode": "own", "value": 120.0}, 409, "no single figure"),
        ("luck", {"mode": "default"}, 404, "no lesson"),
        ("walk", {"mode": "own"}, 422, "value"),
        ("walk", {"mode": "learned", "value": 3.0}, 422, "value"),
    ],
)
async def test_a_choice_that_cannot_be_says_why(
    client: httpx.AsyncClient, name: str, body: dict[str, Any], status: int, says: str
) -> None:
    answer = await client.put(f"/api/v1/learned/{name}", json=body)
    assert answer.status_code == status
    assert says in detail(answer)


async def test_a_backup_brings_every_cook_to_an_empty_site(
    client: httpx.AsyncClient, site: Site, tmp_path: Path
) -> None:
    notes = [{"steak": None, "name": "place", "value": "Alder Ford"}]
    await client.patch(f"/api/v1/cooks/{COOK}", json={"notes": notes})
    answer = await client.get("/api/v1/backup")
    assert answer.headers["content-type"] == "application/vnd.sqlite3"
    assert not _under_way(site), "nothing is left behind"
    with Store(site.archive.log, reads_only=True) as store:
        lines = store.lines(COOK)
    with Store(tmp_path / "empty.db") as store:
        empty = Site(store, RealClock(), [], OPTIONS, heard_desk())
        task = asyncio.create_task(empty.run())
        served = Served(
            create_app(empty, Access(RealClock(), None)), empty, Access(RealClock(), None)
        )
        async with served.here() as there:
            restored = await there.post("/api/v1/restore", content=answer.content)
            again = await there.post("/api/v1/restore", content=answer.content)
        task.cancel()
        await asyncio.gather(task, return_exceptions=True)
        empty.close()
        assert restored.json()["cooks"] == 2
        assert (again.json()["cooks"], again.json()["known"]) == (0, 2)
        assert store.lines(COOK) == lines


def _files_in(folder: Path) -> list[Path]:
    return list(folder.iterdir())


def _under_way(site: Site) -> list[Path]:
    return [p for p in _files_in(site.archive.scratch.folder) if "under-way" in p.name]


async def test_a_backup_that_fails_or_has_no_room_leaves_nothing_behind(
    client: httpx.AsyncClient, site: Site, monkeypatch: pytest.MonkeyPatch
) -> None:
    def spoilt(*given: object) -> int:
        raise LogError("The cook log is damaged: export its cooks.")

    monkeypatch.setattr(archive, "back_up", spoilt)
    assert (await client.get("/api/v1/backup")).status_code == 503
    assert not _under_way(site)
    free = SimpleNamespace(free=upload.RESERVE + site.archive.size() - 1)
    monkeypatch.setattr(shutil, "disk_usage", lambda folder: free)
    assert (await client.get("/api/v1/backup")).status_code == 507
    assert not _under_way(site)


async def test_while_a_backup_is_checked_the_log_is_written(
    client: httpx.AsyncClient, site: Site, monkeypatch: pytest.MonkeyPatch
) -> None:
    begun, written = threading.Event(), threading.Event()

    def slow(path: Path, name: str) -> Backup:
        begun.set()
        assert written.wait(10.0), "the note waits for the check"
        return Backup(path)

    whole = (await client.get("/api/v1/backup")).content
    monkeypatch.setattr(archive, "Backup", slow)
    restore = asyncio.create_task(client.post("/api/v1/restore", content=whole))
    await asyncio.to_thread(begun.wait, 10.0)
    notes = [{"steak": None, "name": "place", "value": "Alder Ford"}]
    answer = await client.patch(f"/api/v1/cooks/{COOK}", json={"notes": notes})
    written.set()
    assert answer.status_code == 200
    assert (await restore).json()["known"] == 2


async def test_a_file_that_is_no_backup_is_refused_whole(
    client: httpx.AsyncClient, site: Site
) -> None:
    answer = await client.post("/api/v1/restore", content=gzip.compress(b"photos of the grill"))
    assert answer.status_code == 422
    assert detail(answer).startswith("The file sent is no backup")
    assert str(site.archive.scratch.folder) not in answer.text


async def test_only_a_cook_writes_deletes_moves_and_chooses(served: Served) -> None:
    async with served.phone(Role.HAND) as hand:
        assert (await hand.get(f"/api/v1/cooks/{COOK}")).status_code == 200
        for method, path in (
            ("PATCH", f"cooks/{COOK}"),
            ("DELETE", f"cooks/{COOK}"),
            ("PUT", "learned/walk"),
            ("GET", "backup"),
            ("POST", "restore"),
            ("POST", "import?name=x"),
        ):
            assert (await hand.request(method, f"/api/v1/{path}")).status_code == 403
