"""The chart library as the build carries it, for tests that need it."""

from __future__ import annotations

from pathlib import Path

from build_hook import FILES, IN_CHECKOUT, NAME, SHA512, VERSION
from tests.tools import require_package

ROOT = Path(__file__).parents[1]


def require_chart_library() -> Path:
    """The folder to serve as ``page/vendor``, fetched if need be; skips or fails without it."""
    into = ROOT / IN_CHECKOUT
    require_package(NAME, VERSION, SHA512, FILES, into)
    return into.parent
