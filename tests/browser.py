"""The browser that tests drive."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, sync_playwright

from tests.page.visit import ARGS
from tests.tools import require_tool


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """Debian's Chromium, for the tests of one file."""
    path = require_tool("chromium", "chromium")
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=path, args=ARGS)
        yield chromium
        chromium.close()
