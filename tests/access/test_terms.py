"""docs/access.md says what the code does."""

from __future__ import annotations

from pathlib import Path
from typing import get_args

import pytest

from pullcall.access.role import Role
from pullcall.access.terms import (
    CODE_LASTS_S,
    CODE_TRIES,
    DELAYS_S,
    TERMS,
    TICKET_LASTS_S,
)
from pullcall.api.access_models import Delay
from tests.access.registers import DAY, HOUR, MINUTE

DOCS = " ".join((Path(__file__).parents[2] / "docs" / "access.md").read_text("utf-8").split())


@pytest.mark.parametrize("role", [Role.COOK, Role.HAND])
def test_who_acts_is_invited_as_documented(role: Role) -> None:
    """ASVS 7.1.1: how long a session lasts is documented."""
    terms = TERMS[role]
    assert (terms.lasts_s, terms.uses, terms.paired_s) == (10 * MINUTE, 1, 30 * DAY)
    assert "pairs one phone within 10 minutes, and the phone stays paired for 30 days" in DOCS


def test_who_watches_is_invited_as_documented() -> None:
    terms = TERMS[Role.WATCHER]
    assert (terms.lasts_s, terms.longest_s, terms.uses) == (12 * HOUR, 7 * DAY, None)
    assert terms.paired_s is None
    assert "any number of phones until it expires (12 hours if nothing else is said, 7 days" in DOCS


def test_codes_and_tickets_end_as_documented() -> None:
    """ASVS 6.1.1: how guessing is limited, and that it locks nobody out, is documented."""
    assert (CODE_LASTS_S, CODE_TRIES, TICKET_LASTS_S) == (2 * MINUTE, 5, 30.0)
    assert "A code lives two minutes and five tries. A wrong guess closes codes" in DOCS
    assert "one use within 30 s" in DOCS


def test_the_delays_are_those_of_the_api_and_the_docs() -> None:
    assert get_args(Delay) == DELAYS_S
    *some, last = (f"{delay_s:.0f}" for delay_s in DELAYS_S)
    assert f"`delay_s`: {', '.join(some)} or {last} seconds" in DOCS
