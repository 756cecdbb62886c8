"""Ways to open the logbook's page on a scripted site: what its tests share."""

from __future__ import annotations

from typing import Any

from playwright.sync_api import Locator, expect

from tests.page.fake_access import Access
from tests.page.visit import Open, Visit


def open_logbook(visit: Open, hash: str = "", role: str = "cook", **script: Any) -> Visit:
    """The page as a paired phone of that role sees it; no meat is on unless it is said."""
    access = Access(guarded=True)
    script = {"cooking": False, "access": access, "cookie": access.pair(role, "Phone"), **script}
    seen = visit(path=f"/logbook{hash}", lanes=False, **script)
    expect(seen.page.locator("main > *")).not_to_have_text("Looking for the site…")
    return seen


def heading(seen: Visit) -> Locator:
    return seen.page.get_by_role("heading", level=1)


def go(seen: Visit, hash: str) -> None:
    seen.page.evaluate("(hash) => { window.location.hash = hash; }", hash)
