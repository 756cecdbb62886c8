"""Members and their copies: what a place to go back to keeps, and what it shares."""

from __future__ import annotations

from collections.abc import Callable
from copy import deepcopy

import numpy as np
import pytest

from pullcall.forecast.members import Members

LATER = np.array([100.0, 160.0, 300.0])
ACTS: dict[str, Callable[[Members], None]] = {
    "a flip": lambda members: members.flip(60.0),
    "a baste": lambda members: members.baste(60.0),
    "an open lid": lambda members: members.lid(60.0, True),
    "coming off": lambda members: members.take_off(60.0),
    "another rest": lambda members: members.rest_on(True),
}


def _on() -> Members:
    members = Members(0, 0.032, 5.0, has_probe=True, on_board=False)
    members.put_on(0.0)
    return members


@pytest.mark.parametrize("act", ACTS)
def test_whatever_happens_afterwards_a_copy_stays_as_it_was(act: str) -> None:
    members = _on()
    before, kept = members.shows_over(LATER), deepcopy(members)
    ACTS[act](members)
    assert np.array_equal(kept.shows_over(LATER), before)
    assert act == "another rest" or not np.array_equal(members.shows_over(LATER), before)


def test_a_copy_takes_no_memory_of_its_own_for_what_never_changes() -> None:
    members = _on()
    kept = deepcopy(members)
    assert kept.__dict__.keys() == members.__dict__.keys()
    assert all(kept.__dict__[name] is value for name, value in members.__dict__.items())


def test_what_many_slabs_show_is_what_each_shows_alone() -> None:
    members = _on()
    together = members.shows_over(LATER)
    for i, t in enumerate(LATER):
        assert together[:, i] == pytest.approx(members.shows_c(float(t)), abs=1e-9)
