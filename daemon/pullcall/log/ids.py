"""Ids of cooks that come from elsewhere: they become part of addresses and of commands."""

from __future__ import annotations

import re

from pullcall.errors import LogFormatError

_ID = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,79}", re.ASCII)
#: Stands for the latest cook that is over.
LAST = "last"


def check_id(cook: str) -> None:
    """Raise LogFormatError for an id that a page or a command could not name."""
    if _ID.fullmatch(cook) is None or cook == LAST:
        raise LogFormatError(
            f"A cook cannot be called {cook[:80]!r}: correct the id in line 1 to 1 to 80 letters "
            f"a to z, digits, dots, underscores and hyphens, a letter or digit first, such as "
            f'"cook":"riverside-1" (but not "{LAST}").'
        )
