"""What is proposed on the sample cooks, and on the same cooks with their probes moved.

The cooks in tests/forecast/cooks were simulated by an independent model; their marks are known.
The bounds lie a little below what was measured on forty cooks that no threshold was chosen on
(docs/proposals.md).
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest

from pullcall.events import Input, MarkKind, Proposal
from pullcall.log.cook_file import CookFile, read_cook_file
from pullcall.proposals.watch import Withdrawn
from tests.proposals.measure import Outcome, outcome, proposals
from tests.proposals.spoil import left_meat, offs, pulled_and_put_back, slipped

_FOLDER = Path(__file__).parents[1] / "forecast" / "cooks"


@cache
def _cooks() -> tuple[CookFile, ...]:
    return tuple(read_cook_file(path) for path in sorted(_FOLDER.glob("cook_*.jsonl")))


@cache
def _outcomes(kind: MarkKind) -> tuple[Outcome, ...]:
    return tuple(outcome(cook.header, cook.inputs, kind) for cook in _cooks())


@pytest.mark.parametrize(
    ("kind", "share", "median_s", "p90_s"),
    [
        (MarkKind.ON, 0.9, 12.0, 30.0),
        (MarkKind.OFF, 0.75, 25.0, 55.0),
        (MarkKind.FLIP, 0.7, 10.0, 25.0),
    ],
)
def test_marks_nobody_made_are_proposed_and_dated(
    kind: MarkKind, share: float, median_s: float, p90_s: float
) -> None:
    detected = [d for o in _outcomes(kind) for d in o.detected]
    found = [(d.mark.t, d.proposal.happened) for d in detected if d.proposal is not None]
    errors = [abs(happened - t) for t, happened in found]
    assert len(found) >= share * len(detected)
    assert np.median(errors) <= median_s
    assert np.percentile(errors, 90) <= p90_s


@pytest.mark.parametrize("kind", [MarkKind.ON, MarkKind.OFF, MarkKind.FLIP])
def test_nothing_is_proposed_before_it_happened(kind: MarkKind) -> None:
    false = [p for o in _outcomes(kind) for p in o.false]
    # At most one in ten cooks.
    assert len(false) <= len(_cooks()) // 10


def test_what_the_core_s_rise_says_is_never_confirmed_by_time() -> None:
    for kind in (MarkKind.ON, MarkKind.OFF, MarkKind.FLIP):
        for one in _outcomes(kind):
            made = [d.proposal for d in one.detected if d.proposal is not None]
            assert all(p.confirm_t is None for p in (*made, *one.misdated, *one.false))


def test_with_every_mark_made_there_is_nothing_left_to_propose() -> None:
    for cook in _cooks():
        said, _ = proposals(cook.header, cook.inputs, None)
        assert [p for p in said if isinstance(p, Proposal) and p.mark is not MarkKind.FLIP] == []


def _offs_said(cook: CookFile, inputs: list[Input], steak: str) -> list[Proposal | Withdrawn]:
    said, _ = proposals(cook.header, inputs, MarkKind.OFF)
    ids = {p.id for p in said if isinstance(p, Proposal) and p.steak == steak}
    return [one for one in said if one.id in ids]


def _confirmed(said: list[Proposal | Withdrawn]) -> list[Proposal]:
    """Proposals that time would have confirmed before they were withdrawn."""
    ended = {w.id: w.t for w in said if isinstance(w, Withdrawn)}
    timed = [p for p in said if isinstance(p, Proposal) and p.confirm_t is not None]
    return [p for p in timed if (p.confirm_t or 0.0) <= ended.get(p.id, np.inf)]


@pytest.mark.parametrize("lag_s", [5.0, 15.0])
def test_a_probe_pulled_with_its_steak_is_confirmed_by_time_at_the_right_moment(
    lag_s: float,
) -> None:
    confirmed, steaks = [], 0
    for cook in _cooks():
        for steak, off_t in offs(cook.inputs).items():
            steaks += 1
            said = _offs_said(cook, left_meat(cook.inputs, steak, off_t + 3.0, lag_s), steak)
            confirmed += [p.happened - off_t for p in _confirmed(said)]
    assert len(confirmed) >= 0.9 * steaks
    assert max(abs(error) for error in confirmed) <= 15.0


@pytest.mark.parametrize("by_c", [-8.0, -15.0, -25.0])
def test_a_slip_before_the_pull_is_never_confirmed_by_time(by_c: float) -> None:
    for cook in _cooks():
        for steak, off_t in offs(cook.inputs).items():
            said = _offs_said(cook, slipped(cook.inputs, steak, off_t - 40.0, by_c), steak)
            assert _confirmed(said) == []


@pytest.mark.parametrize("for_s", [15.0, 40.0])
def test_a_probe_pulled_and_put_back_is_never_confirmed_by_time(for_s: float) -> None:
    for cook in _cooks():
        for steak, off_t in offs(cook.inputs).items():
            inputs = pulled_and_put_back(cook.inputs, steak, off_t - 50.0, for_s)
            assert _confirmed(_offs_said(cook, inputs, steak)) == []
