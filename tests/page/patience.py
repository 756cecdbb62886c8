"""How long tests of a page wait for what they look for, which is only to guard against hanging."""

from __future__ import annotations

import time
from collections.abc import Callable

from playwright.sync_api import Page, expect

#: A busy machine may stand still for seconds: no test fails by that.
HANG_S = 90.0
HANG_MS = 1000 * HANG_S
#: Two beats of a page, and a little more.
BEATS_MS = 450
expect.set_options(timeout=HANG_MS)


def holds(page: Page, check: Callable[[], object]) -> None:
    """Run ``check``, which asserts, until it passes: what it looks at is on its way.

    Of what is read in several steps, or of lists that the page's requests fill.
    """
    end = time.monotonic() + HANG_S
    while True:
        try:
            check()
        except AssertionError:
            if time.monotonic() > end:
                raise
            page.wait_for_timeout(50)
        else:
            return


def becomes(page: Page, read: Callable[[], object], wanted: object) -> None:
    """Wait until what is read is what is wanted."""

    def check() -> None:
        assert read() == wanted

    holds(page, check)


def pass_time(page: Page, ms: float = BEATS_MS) -> None:
    """Let the page live so long by its own timers, which a busy machine delays as well."""
    page.evaluate("(ms) => new Promise((done) => setTimeout(done, ms))", ms)
