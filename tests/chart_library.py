"""The chart library as the build carries it, for tests that need it."""

from __future__ import annotations

from pathlib import Path

from build_hook import FILES, IN_CHECKOUT, NAME, SHA512, VERSION
from npm_package import NotFetchedError, fetch
from tests.tools import lacking, require_tool

ROOT = Path(__file__).parents[1]


def require_chart_library() -> Path:
    """The folder to serve as ``page/vendor``, fetched if need be; skips or fails without it."""
    into = ROOT / IN_CHECKOUT
    if not all((into / Path(file).name).is_file() for file in FILES):
        require_tool("npm", "npm")
        try:
            fetch(NAME, VERSION, SHA512, FILES, into)
        except NotFetchedError as exc:
            lacking(str(exc))
    return into.parent
