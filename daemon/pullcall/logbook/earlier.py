"""Which cooks a cook is held against."""

from __future__ import annotations

from collections.abc import Iterable

from pullcall.log.cook_entry import CookEntry

#: So many earlier cooks say what is usual.
MOST = 8


def earlier(entries: Iterable[CookEntry], cook: str, *, simulated: bool) -> list[str]:
    """The ids of the cooks before ``cook`` (of all, where the log does not have it), of its kind,
    real or simulated; the latest last, the latest :data:`MOST` of them."""
    found = list[str]()
    for entry in entries:
        if entry.id == cook:
            break
        if entry.ended is not None and entry.header.simulated is simulated:
            found.append(entry.id)
    return found[-MOST:]
