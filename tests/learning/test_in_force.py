"""What a cook began with, in words."""

from __future__ import annotations

import pytest

from pullcall.events import Lessons
from pullcall.learning.in_force import in_force
from tests.calls.test_reaction import NOW, slow


@pytest.mark.parametrize("reaction_s, words", [(0.9, ()), (1.5, ()), (5.0, ("3.5 s",))])
def test_the_seconds_are_those_by_which_pull_now_really_comes_earlier(
    reaction_s: float, words: tuple[str, ...]
) -> None:
    told = in_force(Lessons(reaction_s=reaction_s))
    assert told == tuple(f"“pull now” {s} earlier for your reaction" for s in words)
    came = []
    for one in (0.0, reaction_s):
        stage = slow(one)
        stage.pull_at(300.0)
        stage.run(300.0)
        came.append(stage.times(NOW)[0])
    assert came[0] - came[1] == pytest.approx(float(words[0][:-2]) if words else 0.0, abs=0.5)


def test_an_own_climb_is_told_like_a_learned_one() -> None:
    for lessons in (Lessons(climb_c=0.4), Lessons(own_climb_c=2.8)):
        assert in_force(lessons) == ("carry-over",)
