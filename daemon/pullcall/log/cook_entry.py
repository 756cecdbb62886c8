"""A cook as the log lists it."""

from __future__ import annotations

import logging
from dataclasses import dataclass

from pullcall.errors import LogFormatError
from pullcall.events import CookHeader
from pullcall.log.cook_file import parse_cook_lines

logger = logging.getLogger(__name__)

#: Stands for the boot of a cook that was imported: it ran on no clock of this machine.
IMPORTED = "imported"


@dataclass(frozen=True, slots=True)
class CookEntry:
    """``ended`` is an ISO 8601 wall time.

    ``boot`` and ``zero_monotonic`` place the cook's zero on the machine's monotonic clock.
    """

    header: CookHeader
    boot: str
    zero_monotonic: float
    ended: str | None

    @property
    def id(self) -> str:
        """The cook's id."""
        return self.header.cook

    @property
    def is_imported(self) -> bool:
        """Whether somebody brought it in from a file."""
        return self.boot == IMPORTED

    def is_of(self, boot: str) -> bool:
        """Whether its zero lies on the monotonic clock of this boot."""
        return self.boot == boot != "unknown"


def cook_entry(
    cook: str, header: str, boot: str, zero_monotonic: float, ended: str | None
) -> CookEntry | None:
    """A cook of the list; one whose header cannot be read is named and passed over."""
    try:
        parsed = parse_cook_lines([header]).header
    except LogFormatError as exc:
        logger.error("A cook in the log is passed over. %s", exc)
        return None
    if parsed.cook != cook:
        logger.error("The cook %s in the log is passed over: its header names another.", cook)
        return None
    return CookEntry(parsed, boot, zero_monotonic, ended)
