"""Messages that cannot be used: counted, and told once for each site and kind."""

from __future__ import annotations

import logging
from collections import Counter

_log = logging.getLogger(__name__)

#: Kinds told of one by one, at most: who sends nonsense does not fill the journal too.
_MOST_TOLD = 1000


class Refusals:
    """Counts by reason."""

    def __init__(self) -> None:
        self.by_reason: Counter[str] = Counter()
        self._told: set[tuple[str, str, str]] = set()

    @property
    def count(self) -> int:
        """All of them."""
        return self.by_reason.total()

    def add(self, site: str, kind: str, reason: str) -> None:
        """Count one; ``reason`` ends a sentence about a message of this site and kind."""
        self.by_reason[reason] += 1
        of = (site, kind, reason)
        if of not in self._told and len(self._told) < _MOST_TOLD:
            self._told.add(of)
            _log.warning("A message of %r (%s) is left out: %s.", site, kind, reason)
