"""Calls of a pull: ahead, on hold, now, over, and what an unsure forecast says."""

from __future__ import annotations

from dataclasses import replace

import pytest

from pullcall.events import USUAL_PATTERN, CallKind, Forecast, MarkKind
from tests.calls.stage import PULL_C, RISE, Stage, forecast, on

SOON, HOLD, NOW, OVER = (
    CallKind.PULL_SOON,
    CallKind.PULL_HOLD,
    CallKind.PULL_NOW,
    CallKind.OVER,
)


def test_a_pull_is_called_at_forty_twenty_and_ten_and_then_now() -> None:
    stage = on()
    stage.pull_at(300.0)
    stage.run(299.0)
    assert stage.times(SOON) == [260.0, 280.0, 290.0]
    assert [call.in_s for call in stage.said(SOON)] == [40.0, 20.0, 10.0]
    assert stage.times(NOW)[0] == pytest.approx(297.0, abs=1.0)


def test_the_lead_said_before_is_over_when_the_next_one_is_said() -> None:
    stage = on()
    stage.pull_at(300.0)
    stage.run(299.0)
    assert [stage.states(call.id) for call in stage.said(SOON)] == [["cleared"]] * 3


def test_answered_at_forty_it_is_quiet_until_now() -> None:
    stage = on()
    stage.pull_at(300.0)
    stage.run(262.0)
    stage.keep(stage.engine.acknowledge(stage.said(SOON)[0].id, "phone", 262.0))
    stage.run(299.0)
    assert stage.times(SOON) == [260.0]
    assert stage.said(NOW)


def test_an_answer_to_a_lead_that_is_over_changes_nothing() -> None:
    stage = on()
    stage.pull_at(300.0)
    stage.run(281.0)
    forty, twenty = stage.said(SOON)
    assert stage.engine.acknowledge(forty.id, "phone", 281.0) == []
    stage.run(299.0)
    assert [call.in_s for call in stage.said(SOON)] == [40.0, 20.0, 10.0]
    assert stage.states(forty.id) == stage.states(twenty.id) == ["cleared"]


def test_a_band_wider_than_the_lead_says_no_number() -> None:
    stage = on()
    stage.pull_at(300.0, band_s=44.0)
    stage.run(270.0)
    assert stage.said(SOON) == []


def test_one_odd_forecast_calls_nothing() -> None:
    stage = on()
    stage.says["left"] = lambda t: forecast(t, 1.0 if t == 100.0 else 200.0)
    stage.reads["left"] = lambda t: 40.0
    stage.run(150.0)
    assert stage.calls == []


def test_a_pull_that_slips_later_is_held_and_then_counted_down_again() -> None:
    stage = on()
    stage.says["left"] = lambda t: forecast(t, max((300.0 if t < 265 else 340.0) - t, 0.0))
    stage.run(336.0)
    (hold,) = stage.said(HOLD)
    assert hold.t == pytest.approx(266.0, abs=4.0)
    assert (hold.in_s, hold.text, hold.priority) == (70.0, "Left: hold, about 70", 2)
    assert [call.in_s for call in stage.said(SOON)] == [40.0, 40.0, 20.0, 10.0]


def test_a_forecast_that_keeps_slipping_is_held_twice_at_most() -> None:
    stage = on()
    stage.says["left"] = lambda t: forecast(t, 39.0 if t % 60 < 30 else 75.0)
    stage.run(600.0)
    assert len(stage.said(HOLD)) == 2


def test_now_is_never_taken_back_while_a_probe_speaks() -> None:
    stage = on()
    stage.says["left"] = lambda t: forecast(t, 1.0 if t < 103 else 60.0)
    stage.reads["left"] = lambda t: 50.0
    stage.run(160.0)
    assert stage.times(NOW)[0] <= 101.0
    assert stage.states(stage.said(NOW)[0].id) == []


def test_without_a_probe_a_spot_that_shows_time_left_takes_now_back() -> None:
    stage = on()
    stage.says["left"] = lambda t: forecast(t, 1.0 if t < 103 else 60.0, 60.0)
    stage.run(160.0)
    assert stage.states(stage.said(NOW)[0].id) == ["cleared"]
    assert stage.said(SOON) == [] or stage.said(SOON)[0].t > 103.0


def test_now_sounds_every_five_seconds_and_goes_on_insisting_until_answered() -> None:
    stage = on()
    stage.pull_at(100.0)
    stage.run(130.0)
    first = stage.times(NOW)[0]
    stage.says["left"] = lambda t: forecast(t, 0.0, core_c=PULL_C + 1.0)
    found = [call for call in stage.said(NOW) if call.t <= first + 20.0]
    assert [call.t - first for call in found][:3] == [0.0, 5.0, 10.0]
    assert [call.insistent for call in found][:3] == [False, False, True]
    assert len({call.id for call in found}) == 1


def test_an_answer_silences_it_and_over_is_another_alarm() -> None:
    stage = on()
    stage.pull_at(100.0)
    stage.run(105.0)
    stage.keep(stage.engine.acknowledge(stage.said(NOW)[0].id, "phone", 105.0))
    stage.keep(stage.engine.acknowledge(stage.said(NOW)[0].id, "phone", 105.0))
    assert stage.states(stage.said(NOW)[0].id) == ["acknowledged"]
    assert stage.run(112.0) == []
    stage.says["left"] = lambda t: forecast(t, 0.0, core_c=PULL_C + 1.8)
    stage.run(120.0)
    assert stage.said(OVER)
    assert stage.states(stage.said(NOW)[0].id) == ["acknowledged", "cleared"]


def test_off_ends_everything_about_the_pull() -> None:
    stage = on()
    stage.pull_at(100.0)
    stage.run(104.0)
    stage.mark(MarkKind.OFF)
    assert stage.run(160.0) == []
    assert stage.states(stage.said(NOW)[-1].id)[-1] == "cleared"


def test_an_unsure_forecast_is_told_and_the_temperature_takes_over() -> None:
    stage = on()
    stage.pull_at(400.0, band_s=120.0)
    stage.run(396.0)
    assert len(stage.said(CallKind.FORECAST_SHAKY)) == 1
    (stand_by,) = stage.said(SOON)
    assert (stand_by.in_s, stand_by.text) == (None, "Left: nearly there, stand by")
    assert stand_by.t == pytest.approx(383.0, abs=2.0)  # 1.7 K below, at 0.1 K/s


def test_a_band_as_wide_as_is_usual_well_ahead_of_a_pull_is_no_alarm() -> None:
    stage = on()
    stage.says["left"] = lambda t: forecast(t, 300.0 - t, 0.45 * (300.0 - t))
    stage.reads["left"] = lambda t: 40.0
    stage.run(290.0)
    assert stage.said(CallKind.FORECAST_SHAKY) == []


def test_a_steak_without_a_probe_is_never_told_to_be_unsure() -> None:
    stage = on()
    stage.says["left"] = lambda t: forecast(t, max(300.0 - t, 4.0), 90.0)
    stage.run(290.0)
    assert stage.said(CallKind.FORECAST_SHAKY) == []
    assert [call.in_s for call in stage.said(SOON)] == [40.0, 20.0, 10.0]


def test_the_pull_temperature_of_the_forecast_counts_not_the_one_set() -> None:
    stage = on()
    stage.reads["left"] = lambda t: 53.0
    stage.says["left"] = lambda t: replace(forecast(t, 60.0, core_c=53.0), pull_c=52.5)
    stage.run(5.0)
    assert stage.said(NOW)


def test_just_after_a_flip_only_the_core_itself_says_now() -> None:
    stage = on()
    stage.reads["left"] = lambda t: PULL_C - 0.2
    stage.says["left"] = lambda t: forecast(t, 2.0)
    stage.mark(MarkKind.FLIP)
    stage.run(58.0)
    assert stage.said(NOW) == []
    stage.says["left"] = lambda t: forecast(t, 2.0, core_c=PULL_C)
    stage.run(60.0)
    assert stage.said(NOW)


def test_over_rises_again_when_it_gets_worse_though_somebody_answered() -> None:
    stage = on()
    stage.reads["left"] = lambda t: PULL_C
    stage.says["left"] = lambda t: forecast(t, 0.0, core_c=PULL_C + 1.8)
    stage.run(5.0)
    id = stage.said(OVER)[0].id
    stage.keep(stage.engine.acknowledge(id, "phone", 5.0))
    assert stage.run(20.0) == []
    stage.says["left"] = lambda t: forecast(t, 0.0, core_c=PULL_C + 3.5)
    stage.run(23.0)
    assert stage.calls[-1].call is OVER
    assert stage.states(id) == ["acknowledged", "unacknowledged"]


def test_once_the_pull_is_called_nothing_else_is_to_be_done_to_the_steak() -> None:
    stage = on("left", pattern=USUAL_PATTERN)
    stage.pull_at(100.0)
    stage.run(240.0)
    assert {call.call for call in stage.calls} == {SOON, NOW}


def test_a_spot_that_takes_now_back_says_how_long_still() -> None:
    stage = on()
    stage.says["left"] = lambda t: forecast(t, 1.0 if t < 103 else 150.0 - t, 60.0)
    stage.run(112.0)
    (hold,) = stage.said(HOLD)
    assert hold.text in ("Left: hold, about 40", "Left: hold, about 50")


def raised(stage: Stage, at: float, by_c: float) -> None:
    """The forecast of a steak that rises for ever, its pull temperature raised at ``at``."""
    stage.reads["left"] = lambda t: PULL_C + RISE * (t - 100.0)

    def says(t: float) -> Forecast:
        pull_c = PULL_C + (by_c if t >= at else 0.0)
        core_c = PULL_C + RISE * (t - 100.0)
        found = forecast(t, max((pull_c - core_c) / RISE, 0.0), core_c=core_c)
        return replace(found, pull_c=pull_c)

    stage.says["left"] = says


def test_a_pull_temperature_raised_after_now_is_another_pull_and_is_called() -> None:
    stage = on()
    raised(stage, at=105.0, by_c=4.0)
    stage.run(103.0)
    first = stage.said(NOW)[0].id
    stage.engine.acknowledge(first, "phone", 103.0)
    stage.run(150.0)
    assert stage.said(HOLD)
    later = [call for call in stage.said(NOW) if call.id != first]
    assert later[0].t == pytest.approx(137.0, abs=2.0)  # 4 K later at 0.1 K/s, less three seconds


def test_an_answer_to_a_lead_does_not_silence_a_pull_shifted_later() -> None:
    stage = on()
    raised(stage, at=65.0, by_c=1.5)
    stage.run(62.0)
    stage.engine.acknowledge(stage.said(SOON)[0].id, "phone", 62.0)
    stage.run(112.0)
    assert [call.in_s for call in stage.said(SOON)] == [40.0, 40.0, 20.0, 10.0]
