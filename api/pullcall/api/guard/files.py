"""Which requests are for the page and its files: all but the API and what was measured."""

from __future__ import annotations

from starlette.types import Scope

#: Wherever the API is: a board has one for each site besides its own.
_API = "/api/"
#: No file: its token must not be guessed any faster than a stranger may ask.
METRICS = "/metrics"


def is_for_a_file(scope: Scope) -> bool:
    """Whether somebody asks for a file, which is the same for everybody."""
    return _API not in scope["path"] and scope["path"] != METRICS
