"""A cook who is slower than most hears "pull now" earlier, so that off falls on the crossing."""

from __future__ import annotations

import pytest

from pullcall.calls.engine import CallEngine
from pullcall.events import CallKind, MarkKind
from tests.calls.stage import PULL_C, RISE, Stage, forecast, on

SOON, NOW = CallKind.PULL_SOON, CallKind.PULL_NOW


def slow(reaction_s: float) -> Stage:
    """A steak on at 0, whose cook needs ``reaction_s``."""
    stage = on()
    stage.engine = CallEngine(stage.steaks, reaction_s)
    return stage


@pytest.mark.parametrize("reaction_s", [4.0, 6.0, 12.0, 20.0])
def test_now_comes_the_reaction_before_the_crossing(reaction_s: float) -> None:
    stage = slow(reaction_s)
    stage.pull_at(300.0)
    stage.run(300.0)
    assert 300.0 - stage.times(NOW)[0] == pytest.approx(reaction_s, abs=1.0)


@pytest.mark.parametrize("reaction_s", [-5.0, 0.0, 1.0, 1.5])
def test_a_quick_cook_is_called_as_ever(reaction_s: float) -> None:
    stages = [on(), slow(reaction_s)]
    for stage in stages:
        stage.pull_at(300.0)
        stage.run(310.0)
    assert stages[0].calls == stages[1].calls != []


def test_nobody_is_called_more_than_twenty_seconds_early() -> None:
    stage = slow(500.0)
    stage.pull_at(300.0)
    stage.run(300.0)
    assert 300.0 - stage.times(NOW)[0] == pytest.approx(20.0, abs=1.0)


def test_leads_count_to_the_crossing_and_those_that_now_would_talk_into_are_left_out() -> None:
    stage = slow(8.0)
    stage.pull_at(300.0)
    stage.run(300.0)
    assert [(call.t, call.in_s) for call in stage.said(SOON)] == [(260.0, 40.0), (280.0, 20.0)]


def test_just_after_a_flip_still_only_the_core_itself_says_now() -> None:
    stage = slow(10.0)
    stage.pull_at(300.0)
    stage.run(270.0)
    stage.mark(MarkKind.FLIP)
    stage.run(320.0)
    assert stage.times(NOW)[0] >= 300.0


def test_without_a_probe_now_stands_though_more_than_the_last_lead_is_left() -> None:
    stage = slow(14.0)
    stage.says["left"] = lambda t: forecast(
        t, max(300.0 - t, 0.0), core_c=PULL_C - RISE * (300 - t)
    )
    stage.run(299.0)
    id = stage.said(NOW)[0].id
    assert "cleared" not in stage.states(id)


def test_a_spot_that_shows_time_left_takes_an_early_now_back_too() -> None:
    stage = slow(14.0)
    stage.says["left"] = lambda t: forecast(t, max((300.0 if t < 290 else 340.0) - t, 0.0))
    stage.run(295.0)
    assert "cleared" in stage.states(stage.said(NOW)[0].id)
    assert stage.said(CallKind.PULL_HOLD)
