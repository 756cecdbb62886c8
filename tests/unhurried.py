"""No test's outcome depends on how fast a disk is, or a program that renders words."""

from __future__ import annotations

import pytest

_AS_LONG_AS_IT_TAKES_S = 60.0
#: Where the product gives up waiting and goes on without.
_PATIENCE = (
    "pullcall.outlets.speech._STUCK_S",
    "pullcall.outlets.clips._PATIENCE_S",
    "pullcall.outlets.loudspeaker.PATIENCE_S",
    "pullcall.site.ledger.PATIENCE_S",
)


@pytest.fixture(autouse=True)
def unhurried(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nobody gives up waiting, unless a test has something come too late and says how late."""
    for patience in _PATIENCE:
        monkeypatch.setattr(patience, _AS_LONG_AS_IT_TAKES_S)
