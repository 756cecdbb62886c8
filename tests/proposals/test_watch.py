"""How long a proposal stands, what ends it, and what is never proposed twice."""

from __future__ import annotations

from copy import deepcopy
from math import exp

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pullcall.core.steak import SteakState
from pullcall.events import Mark, MarkKind, Proposal, Reading, SteakSettings
from pullcall.proposals.rules import CONFIRM_S, STANDS_S
from pullcall.proposals.watch import ProposalWatch, Withdrawn
from tests.proposals.cases import PULL_C, Bench

AIR_C = 22.0


def _rising(t: float) -> float:
    """Three kelvin per minute; 53 C at 300 s."""
    return 53.0 + 3.0 * (t - 300.0) / 60.0


def _out(t: float) -> float:
    """The probe left the meat at 300 s (Newton's law of cooling)."""
    return _rising(t) if t <= 300.0 else AIR_C + 31.0 * exp(-(t - 300.0) / 8.0)


def _cooking(flips: tuple[float, ...] = ()) -> Bench:
    bench = Bench(flips)
    bench.mark(MarkKind.ON, 0.0)
    return bench


def test_a_probe_out_of_the_meat_proposes_off_and_then_gives_a_time_to_object() -> None:
    bench = _cooking()
    bench.run(150, 360, _out)
    tapped, timed = bench.proposed(MarkKind.OFF)
    assert (tapped.id, tapped.steak, tapped.happened) == (timed.id, "left", timed.happened)
    assert tapped.confirm_t is None
    assert timed.confirm_t is not None
    assert timed.confirm_t - tapped.t > CONFIRM_S
    assert bench.watch.standing() == (timed,)


def test_a_mark_ends_its_proposal() -> None:
    bench = _cooking()
    bench.run(150, 330, _out)
    assert len(bench.watch.standing()) == 1
    bench.mark(MarkKind.OFF, 301.0)
    bench.run(330, 400, _out)
    assert bench.withdrawn() == ["marked"]
    assert bench.watch.standing() == ()


def test_a_mark_for_all_steaks_ends_the_proposal_of_each() -> None:
    bench = _cooking()
    bench.run(150, 330, _out)
    bench.watch.mark(None, MarkKind.OFF, 301.0)
    bench.step(330.0)
    assert bench.withdrawn() == ["marked"]


def test_a_dismissed_proposal_does_not_come_back() -> None:
    bench = _cooking()
    bench.run(150, 330, _out)
    (standing,) = bench.watch.standing()
    assert bench.watch.dismiss(standing.id)
    assert not bench.watch.dismiss(standing.id)
    before = len(bench.said)
    bench.run(330, 600, _out)
    assert bench.said[before:] == []


def test_an_undone_off_is_not_proposed_again_from_the_same_fall() -> None:
    bench = _cooking()
    bench.run(150, 330, _out)
    bench.mark(MarkKind.OFF, 301.0)
    bench.run(330, 340, _out)
    bench.steak = SteakState(SteakSettings("left", pull_c=PULL_C), ())
    bench.steak.mark(Mark(0.0, "left", MarkKind.ON))
    before = len(bench.said)
    bench.run(340, 600, _out)
    assert bench.said[before:] == []


def test_readings_that_climb_back_withdraw_the_proposal() -> None:
    def back(t: float) -> float:
        return _out(t) if t < 318.0 else _rising(t)

    bench = _cooking()
    bench.run(150, 340, back)
    (proposal,) = bench.proposed(MarkKind.OFF)
    assert proposal.confirm_t is None
    assert bench.withdrawn() == ["the readings say otherwise"]


def test_nobody_answering_for_two_minutes_ends_a_proposal_for_good() -> None:
    bench = _cooking(flips=(60.0,))
    bench.run(0, 400, _rising)
    (proposal,) = bench.proposed(MarkKind.FLIP)
    assert (proposal.t, proposal.happened, proposal.confirm_t) == (80.0, 60.0, None)
    (gone,) = [w for w in bench.said if isinstance(w, Withdrawn)]
    assert (gone.id, gone.why) == (proposal.id, "nobody answered")
    assert gone.t - proposal.t == STANDS_S


def test_silence_confirms_nothing() -> None:
    bench = _cooking()
    bench.run(150, 318, _out)
    bench.run(318, 430, None)
    assert [p.confirm_t for p in bench.proposed(MarkKind.OFF)] == [None]


def test_a_planned_flip_that_was_marked_is_not_proposed() -> None:
    for made in (30.0, 55.0, 75.0):
        bench = _cooking(flips=(60.0,))
        bench.run(0, int(made), _rising)
        bench.mark(MarkKind.FLIP, made)
        bench.run(int(made), 200, _rising)
        assert bench.proposed(MarkKind.FLIP) == []


def test_a_flip_marked_late_ends_its_proposal_and_a_later_one_does_not() -> None:
    late, other = _cooking(flips=(60.0,)), _cooking(flips=(60.0,))
    for bench, made in ((late, 61.0), (other, 150.0)):
        bench.run(0, 100, _rising)
        bench.watch.mark("left", MarkKind.FLIP, made)
        bench.step(100.0)
    assert late.withdrawn() == ["marked"]
    assert other.withdrawn() == []


def test_the_lid_is_proposed_for_the_grill_and_its_closing_only_if_it_was_marked_open() -> None:
    def grate(t: float) -> float:
        if t <= 100.0:
            return 300.0
        if t <= 140.0:
            return 300.0 - 80.0 * (1.0 - exp(-(t - 100.0) / 12.0))
        return 300.0 - 77.0 * exp(-(t - 140.0) / 25.0)

    def run(marks: bool) -> Bench:
        bench = Bench(grate="grate/0")
        for t in range(260):
            bench.watch.read(Reading(float(t), None, grate(float(t)), "grate/0"))
            said = bench.step(float(t))
            if marks and any(isinstance(s, Proposal) and s.mark is MarkKind.LID_OPEN for s in said):
                bench.watch.mark(None, MarkKind.LID_OPEN, float(t))
        return bench

    marked, unmarked = run(True), run(False)
    for bench in (marked, unmarked):
        (opened,) = bench.proposed(MarkKind.LID_OPEN)
        assert opened.steak is None
        assert opened.happened == pytest.approx(100.0, abs=6.0)
    (closed,) = marked.proposed(MarkKind.LID_CLOSE)
    assert closed.happened == pytest.approx(140.0, abs=6.0)
    assert marked.withdrawn()[0] == "marked"
    assert unmarked.proposed(MarkKind.LID_CLOSE) == []
    assert unmarked.withdrawn() == ["the readings say otherwise"]


def test_readings_of_no_steak_and_no_grate_are_ignored() -> None:
    bench = Bench(grate="grate/0")
    for t in range(200):
        celsius = 300.0 if t < 100 else 50.0
        bench.watch.read(Reading(float(t), None, celsius, "other/0"))
        bench.watch.read(Reading(float(t), "middle", celsius, "middle/0"))
        assert bench.step(float(t)) == []


def test_a_grate_probe_on_another_channel_starts_anew() -> None:
    bench = Bench(grate="grate/0")
    for t in range(200):
        if t == 100:
            bench.watch.set_grate("grate/1")
        channel, celsius = ("grate/0", 300.0) if t < 100 else ("grate/1", 100.0)
        bench.watch.read(Reading(float(t), None, celsius, channel))
        assert bench.step(float(t)) == []


def test_a_copy_goes_its_own_way() -> None:
    bench = _cooking()
    bench.run(150, 300, _out)
    other = deepcopy(bench)
    other.run(300, 360, _out)
    assert bench.watch.standing() == ()
    assert len(other.watch.standing()) == 1
    bench.run(300, 360, _out)
    assert bench.said == other.said


_EVENTS = st.lists(
    st.one_of(
        st.tuples(st.just("read"), st.floats(-40.0, 320.0, allow_nan=False)),
        st.tuples(st.just("ramp"), st.floats(-3.0, 3.0, allow_nan=False)),
        st.tuples(st.just("mark"), st.sampled_from(list(MarkKind))),
        st.tuples(st.just("dismiss"), st.integers(0, 3)),
        st.tuples(st.just("wait"), st.integers(1, 150)),
    ),
    max_size=60,
)


@given(_EVENTS)
def test_whatever_happens_each_proposal_is_told_once_and_ends_once(
    events: list[tuple[str, float | MarkKind | int]],
) -> None:
    bench, t, celsius = Bench(flips=(60.0, 200.0), grate="grate/0"), 0.0, 8.0
    dismissed: list[str] = []
    for what, value in events:
        if what == "mark" and isinstance(value, MarkKind):
            bench.mark(value, t)
        elif what == "dismiss" and isinstance(value, int):
            standing = bench.watch.standing()
            if value < len(standing) and bench.watch.dismiss(standing[value].id):
                dismissed.append(standing[value].id)
        steps = int(value) if what == "wait" else 30 if what == "ramp" else 1
        for _ in range(steps):
            t += 1.0
            if what == "read":
                celsius = float(value)
            elif what == "ramp":
                celsius += float(value)
            if what in ("read", "ramp"):
                bench.watch.read(Reading(t, "left", celsius, "left/0"))
                bench.watch.read(Reading(t, None, 5.0 * celsius, "grate/0"))
            bench.step(t)
            assert all(t - one.t < STANDS_S for one in bench.watch.standing())
    told = [p.id for p in bench.said if isinstance(p, Proposal) and p.confirm_t is None]
    ended = [w.id for w in bench.said if isinstance(w, Withdrawn)] + dismissed
    assert len(told) == len(set(told))
    assert len(ended) == len(set(ended))
    standing_ids = {one.id for one in bench.watch.standing()}
    assert set(told) == standing_ids | set(ended)
    assert standing_ids.isdisjoint(ended)


def test_two_watches_fed_alike_say_the_same() -> None:
    def said() -> list[Proposal | Withdrawn]:
        bench = _cooking(flips=(200.0,))
        bench.run(150, 500, _out)
        return bench.said

    assert said() == said()


def test_a_steak_the_cook_no_longer_has_is_passed_over() -> None:
    watch = ProposalWatch(["left", "right"])
    left = SteakState(SteakSettings("left"), ())
    assert watch.step(1.0, {"left": left}, {}) == []
