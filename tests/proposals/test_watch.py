"""A proposal stands until it is marked, dismissed, contradicted, or nobody answered."""

from __future__ import annotations

from math import exp
from pathlib import Path

import pytest

from pullcall.events import Mark, MarkKind, Proposal
from pullcall.log.cook_file import read_cook_file
from tests.proposals.cases import PULL_C, Bench
from tests.proposals.measure import outcome, proposals
from tests.proposals.spoil import left_meat, offs, pulled_and_put_back, slipped

COOKS = sorted((Path(__file__).parents[1] / "forecast" / "cooks").glob("*.jsonl"))
LEFT_T = 300


def nearly_done(t: float) -> float:
    """A steady rise to just below the pull temperature."""
    return PULL_C - 1.0 - 0.05 * max(0.0, LEFT_T - t)


def in_air(t: float) -> float:
    """The probe left the meat and cools in air (Newton's law of cooling)."""
    before = nearly_done(float(LEFT_T))
    return before if t < LEFT_T else 22.0 + (before - 22.0) * exp(-(t - LEFT_T) / 8.0)


def pulled() -> Bench:
    """A steak whose probe left the meat, seen until it is clear."""
    bench = Bench()
    bench.mark(MarkKind.ON, 0.0)
    bench.run(60, LEFT_T, nearly_done)
    bench.run(LEFT_T, LEFT_T + 60, in_air)
    return bench


def test_a_probe_that_left_the_meat_proposes_off_and_time_may_confirm_it() -> None:
    bench = pulled()
    last = bench.proposed(MarkKind.OFF)[-1]
    assert last.happened == pytest.approx(LEFT_T, abs=6.0)
    assert last.confirm_t is not None
    assert last.confirm_t >= last.t + 20.0
    assert bench.watch.standing() == (last,)


def test_marking_it_takes_the_proposal_away() -> None:
    bench = pulled()
    bench.mark(MarkKind.OFF, LEFT_T + 5.0)
    bench.step(LEFT_T + 61.0)
    assert bench.watch.standing() == ()
    assert bench.withdrawn() == ["marked"]


def test_what_was_dismissed_is_not_proposed_again() -> None:
    bench = pulled()
    (standing,) = bench.watch.standing()
    assert bench.watch.dismiss(standing.id)
    assert not bench.watch.dismiss(standing.id)
    before = len(bench.proposed(MarkKind.OFF))
    bench.run(LEFT_T + 60, LEFT_T + 120, in_air)
    assert len(bench.proposed(MarkKind.OFF)) == before


def test_a_planned_flip_nobody_tapped_is_proposed_for_its_time_and_only_a_tap_confirms_it() -> None:
    bench = Bench(flips=(240.0,))
    bench.mark(MarkKind.ON, 0.0)
    bench.run(1, 280, lambda t: 5.0 + 0.1 * t)
    (flip,) = bench.proposed(MarkKind.FLIP)
    assert (flip.happened, flip.confirm_t) == (240.0, None)
    assert flip.t >= 260.0


def test_a_planned_flip_that_was_marked_is_not_proposed() -> None:
    bench = Bench(flips=(240.0,))
    bench.mark(MarkKind.ON, 0.0)
    bench.run(1, 236, lambda t: 5.0 + 0.1 * t)
    bench.mark(MarkKind.FLIP, 236.0)
    bench.run(236, 300, lambda t: 5.0 + 0.1 * t)
    assert bench.proposed(MarkKind.FLIP) == []


def test_a_proposal_nobody_answers_goes_away_after_two_minutes() -> None:
    bench = Bench(flips=(240.0,))
    bench.mark(MarkKind.ON, 0.0)
    bench.run(1, 400, lambda t: 5.0 + 0.1 * t)
    assert bench.watch.standing() == ()
    assert len(bench.withdrawn()) == 1


@pytest.mark.parametrize("path", COOKS[:6], ids=lambda path: path.stem)
def test_in_simulated_cooks_nothing_is_proposed_while_every_act_is_marked(path: Path) -> None:
    cook = read_cook_file(path)
    said, _ = proposals(cook.header, cook.inputs, withheld=None)
    assert [p for p in said if isinstance(p, Proposal) and p.mark is not MarkKind.FLIP] == []


@pytest.mark.parametrize("path", COOKS[:6], ids=lambda path: path.stem)
def test_in_simulated_cooks_on_is_found_within_half_a_minute(path: Path) -> None:
    cook = read_cook_file(path)
    found = outcome(cook.header, cook.inputs, MarkKind.ON)
    assert found.false == ()
    dated = [(d.mark, d.proposal) for d in found.detected if d.proposal is not None]
    assert len(dated) >= 1
    assert all(abs(p.happened - mark.t) <= 30.0 for mark, p in dated)


def confirmed_offs(path: Path, change: str) -> list[Proposal]:
    """The offs that time would confirm in a cook whose left probe was disturbed near the end."""
    cook = read_cook_file(path)
    steak, at = next(iter(offs(cook.inputs).items()))
    since = at - 40.0
    spoiled = {
        "left": lambda: left_meat(cook.inputs, steak, since, 6.0),
        "slipped": lambda: slipped(cook.inputs, steak, since, -8.0),
        "put back": lambda: pulled_and_put_back(cook.inputs, steak, since, 15.0),
    }[change]()
    kept = [e for e in spoiled if not (isinstance(e, Mark) and e.mark is MarkKind.OFF)]
    said, _ = proposals(cook.header, kept, withheld=None)
    return [
        p for p in said if isinstance(p, Proposal) and p.steak == steak and p.confirm_t is not None
    ]


@pytest.mark.parametrize("path", COOKS[:4], ids=lambda path: path.stem)
def test_time_confirms_off_only_where_the_probe_clearly_left(path: Path) -> None:
    assert [p.mark for p in confirmed_offs(path, "left")] == [MarkKind.OFF]
    assert confirmed_offs(path, "slipped") == []
    assert confirmed_offs(path, "put back") == []
