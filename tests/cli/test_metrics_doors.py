"""Metrics are served where the page is: over TLS with a token, on this machine without."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import httpx
import pytest
from starlette.types import ASGIApp

from pullcall.api.site_metrics import serve_site_metrics
from pullcall.cli.doors import open_doors
from pullcall.cli.main import main
from pullcall.clock import RealClock
from pullcall.door import Door
from pullcall.log.store import Store
from pullcall.served_section import PageSection
from pullcall.site.live import Site
from pullcall.site.options import SiteOptions
from pullcall.supervision import Part
from tests.desk import heard_desk
from tests.integration.daemon import free_pair
from tests.metrics.exposed import Exposed

TOKEN = "0123456789abcdef-scrape"


@pytest.fixture(autouse=True)
def own_folders(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("STATE_DIRECTORY", raising=False)
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))


async def asked(app: ASGIApp, base: str, address: str, token: str = "") -> httpx.Response:
    """What a door answers to a scraper."""
    transport = httpx.ASGITransport(app=app, client=(address, 50000))
    headers = {"Authorization": f"Bearer {token}"} if token else {}
    async with httpx.AsyncClient(transport=transport, base_url=base) as client:
        return await client.get("/metrics", headers=headers)


async def test_a_site_tells_over_both_of_its_doors_who_may_know(tmp_path: Path) -> None:
    page = PageSection.model_validate({"host": "0.0.0.0", "port": free_pair()})
    with (
        Store(tmp_path / "cooks.db") as store,
        open_doors(page, None, RealClock()) as doors_of,
    ):
        site = Site(store, RealClock(), [], SiteOptions(), heard_desk())
        doors = doors_of(site, lambda app: serve_site_metrics(app, site, TOKEN))
        main_door, plain = (door.app for door in doors.doors)
        remote = "192.168.7.66"
        over_tls = await asked(main_door, "https://pullcall.local", remote, TOKEN)
        assert Exposed(over_tls.text).value("pullcall_probes") == 0
        assert (await asked(main_door, "https://pullcall.local", remote)).status_code == 401
        here = await asked(plain, "http://127.0.0.1", "127.0.0.1")
        assert here.status_code == 200
        away = await asked(plain, "http://pullcall.local", remote, TOKEN)
        assert away.status_code == 307
        assert away.headers["location"].startswith("https://")
        site.close()


def test_a_board_tells_whoever_has_the_token_of_its_configuration(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    answers: list[httpx.Response] = []

    async def serve(board: object, doors: Sequence[Door], ready: object, *others: Part) -> None:
        for token in (TOKEN, "wrong"):
            at = "https://pullcall-board.local"
            answers.append(await asked(doors[0].app, at, "192.168.7.66", token))

    monkeypatch.setattr("pullcall.app.serve", serve)
    config = tmp_path / "pullcall.toml"
    config.write_text(
        f'[mqtt]\nhost = "broker.example"\n[metrics]\ntoken = "{TOKEN}"\n'
        f'[board]\nhost = "0.0.0.0"\nport = {free_pair()}\n'
    )
    assert main(["board", "--config", str(config)]) == 0
    told, refused = answers
    assert Exposed(told.text).value("pullcall_board_messages_total") == 0
    assert refused.status_code == 401
