"""A live site behind its application."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from pathlib import Path

import pytest

from pullcall.access.access import Access
from pullcall.api.app import create_app
from pullcall.api.front import Front
from pullcall.clock import RealClock
from pullcall.log.store import Store
from pullcall.site.live import Site
from pullcall.site.options import SiteOptions
from tests.api.site_client import NAME, Served
from tests.desk import heard_desk


@pytest.fixture
async def site(tmp_path: Path) -> AsyncIterator[Site]:
    with Store(tmp_path / "cooks.db") as store:
        site = Site(store, RealClock(), [], SiteOptions(), heard_desk())
        task = asyncio.create_task(site.run())
        yield site
        task.cancel()
        await asyncio.gather(task, return_exceptions=True)
        site.close()


@pytest.fixture
async def served(site: Site) -> AsyncIterator[Served]:
    access = Access(RealClock(), None)
    app = create_app(site, access, Front(frozenset({NAME}), lambda: (f"https://{NAME}:8317/",)))
    feeds = asyncio.create_task(app.state.feeds.run())
    yield Served(app, site, access)
    feeds.cancel()
    await asyncio.gather(feeds, return_exceptions=True)
