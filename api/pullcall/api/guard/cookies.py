"""One cookie of a request, read for what this program writes and nothing else."""

from __future__ import annotations

import re

from starlette.requests import HTTPConnection

#: Tokens are letters, digits, dots, underscores and hyphens, and no longer than this.
_TOKEN = re.compile(r"[\w.-]{1,200}", re.ASCII)


def cookie_of(connection: HTTPConnection, name: str) -> str | None:
    """The value of the cookie ``name``; None where it is missing or could not be ours.

    A general reader of cookies also undoes quotes and escapes, which no token has, in a time that
    grows with the square of their number: one request of a stranger would hold up the calls.
    """
    found: str | None = None
    for header in connection.headers.getlist("cookie"):
        for part in header.split(";"):
            key, _, value = part.partition("=")
            if key.strip() == name:
                found = value.strip()
    return found if found is not None and _TOKEN.fullmatch(found) else None
