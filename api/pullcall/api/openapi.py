"""``python -m pullcall.api.openapi``: writes the OpenAPI description beside this module."""

from __future__ import annotations

import json
import tempfile
from pathlib import Path
from typing import Any

from pullcall.access.access import Access
from pullcall.api.app import create_app
from pullcall.clock import RealClock
from pullcall.log.store import Store
from pullcall.outlets.desk import Desk
from pullcall.outlets.phones import Phones
from pullcall.site.live import Site
from pullcall.site.options import SiteOptions

FILE = Path(__file__).with_name("openapi.json")


def description() -> dict[str, Any]:
    """The OpenAPI 3.1 description of the API as it is."""
    with tempfile.TemporaryDirectory() as folder, Store(Path(folder) / "cooks.db") as store:
        clock = RealClock()
        site = Site(store, clock, [], SiteOptions(), Desk(Phones(clock), [], clock))
        site.close()
        return create_app(site, Access(clock, None)).openapi()


def text() -> str:
    """The file's content."""
    return json.dumps(description(), indent=1, ensure_ascii=False) + "\n"


if __name__ == "__main__":
    FILE.write_text(text(), encoding="utf-8")
