"""The study of whole cooks: what really happened, and what was said of it."""

from __future__ import annotations

from functools import cache

import pytest

from pullcall.core.cook import Cook, Effect
from pullcall.events import (
    Acknowledgement,
    Call,
    CallKind,
    CookHeader,
    Input,
    Mark,
    MarkKind,
    Reached,
    Setting,
    Spot,
    Undo,
)
from pullcall.forecast.prior import FIRE, STEAK
from pullcall.hindsight.facts import CookFacts, SteakFacts, StepFacts
from pullcall.hindsight.study import study
from pullcall.log.call_records import call_record
from pullcall.log.cook_file import CookFile, cook_lines, parse_cook_lines
from pullcall.log.records import to_line
from pullcall.log.replay import replay
from tests.cooks import ONE, in_time_order, off, on, rising
from tests.hindsight.cooks import UNTIL_S, demo_facts, outcome

#: The small cook's core rises from 5 C by a sixth of a degree a second: 54 C at 294.2 s.
RISE_C_PER_S = 1.0 / 6.0
CROSS_T = 0.2 + 49.0 * 6.0


def small(*others: Input, end_t: float = 300.0, header: CookHeader = ONE) -> CookFile:
    """One steak on at 0.1 s."""
    events = in_time_order([on(0.1)], rising("left", 0.2, end_t, 5.0, RISE_C_PER_S), others)
    return parse_cook_lines(cook_lines(header, events))


PULLED = small(off(299.0))


@cache
def calls() -> tuple[Call, ...]:
    """What was called in the small cook."""
    return tuple(effect for effect in replay(PULLED) if isinstance(effect, Call))


def called() -> list[str]:
    return [to_line(call_record(call)) for call in calls()]


def left(facts: CookFacts) -> SteakFacts:
    steak = facts.steak("left")
    assert steak is not None
    return steak


def step(facts: CookFacts, name: str, steak: str | None = None) -> StepFacts:
    return next(s for s in facts.steps if (s.name, s.steak) == (name, steak))


@pytest.mark.parametrize("name", ["left", "right"])
def test_a_study_finds_what_really_happened_to_each_steak(name: str) -> None:
    steak, truth = demo_facts().steak(name), outcome(name)
    assert steak is not None
    assert truth.cross_s is not None
    assert steak.cross_t == pytest.approx(truth.cross_s, abs=2.0)
    assert steak.off_t == pytest.approx(truth.pull_s)
    assert steak.peak_c == pytest.approx(truth.peak_c, abs=0.2)
    assert steak.peak_t == pytest.approx(truth.peak_s, abs=30.0)
    assert steak.start_c == pytest.approx(18.5, abs=0.2)


def test_a_forecast_is_scored_at_every_lead_and_every_peak() -> None:
    for steak in demo_facts().steaks:
        assert steak.cross_t is not None
        assert [score.lead_s for score in steak.leads] == [120.0, 60.0, 40.0, 20.0]
        for score in steak.leads:
            assert score.true_in_s == pytest.approx(score.lead_s, abs=1.0)
            assert score.t + score.true_in_s == pytest.approx(steak.cross_t)
        assert [score.after_off_s for score in steak.peaks] == [0.0, 60.0]
        assert {score.true_c for score in steak.peaks} == {steak.peak_c}
        told = steak.climb_told_c
        assert told is not None
        assert steak.off_c is not None
        assert told.p50 + steak.off_c == pytest.approx(steak.peaks[0].peak_c.p50, abs=0.02)


def test_what_the_forecast_came_to_believe_is_told_of_every_unknown() -> None:
    for steak in demo_facts().steaks:
        assert set(steak.believed) == {unknown.name for unknown in (*FIRE, *STEAK)}
        sds = {unknown.name: unknown.sd for unknown in STEAK}
        assert steak.believed["diffusivity"].sd < 0.75 * sds["diffusivity"]  # readings taught it
        assert steak.believed["rest_gain"].sd == pytest.approx(sds["rest_gain"], rel=0.15)


def test_marks_are_held_against_what_was_planned_or_called() -> None:
    steak = left(demo_facts())
    marks = {(mark.mark, mark.planned_t): mark.t for mark in steak.marks}
    assert [kind for kind, _ in marks] == [
        MarkKind.ON,
        MarkKind.TURN,
        MarkKind.FLIP,
        MarkKind.TURN,
        MarkKind.OFF,
        MarkKind.BOXED,
        MarkKind.HANDED_IN,
    ]
    on_t = steak.on_t
    assert on_t is not None
    assert (MarkKind.FLIP, on_t + 240.0) in marks
    assert (MarkKind.OFF, steak.now_t) in marks
    assert steak.reaction_s is not None
    assert 6.0 <= steak.reaction_s <= 14.0  # this cook is slow to pull on purpose


def test_steps_are_held_against_the_plan() -> None:
    facts = demo_facts()
    steaks = facts.steaks
    assert step(facts, "season").ended_t == -2700.0
    assert step(facts, "light").began_t == -2400.0
    assert step(facts, "heat_up").took_s == pytest.approx(1380.0, abs=5.0)  # hot from the start
    for steak in steaks:
        assert steak.on_t is not None
        assert steak.off_t is not None
        assert steak.boxed_t is not None
        cook, rest = step(facts, "cook", steak.steak), step(facts, "rest", steak.steak)
        assert cook.took_s == pytest.approx(steak.off_t - steak.on_t)
        assert rest.took_s == pytest.approx(steak.boxed_t - steak.off_t)
        assert cook.late_s is not None
        assert cook.late_s < -120.0  # much earlier than the window asks
    walk = step(facts, "walk")
    assert walk.began_t == min(s.boxed_t for s in steaks if s.boxed_t is not None)
    assert walk.began_t + (walk.took_s or 0.0) == facts.handed_in_t
    assert step(facts, "hand_in").planned_t == pytest.approx(1080.0 + 600.0)


def test_the_fire_is_told_over_the_time_that_something_was_on() -> None:
    fire = demo_facts().fire
    assert fire.at_on_c == pytest.approx(285.0, abs=2.0)
    assert fire.low_c is not None
    assert fire.mean_c is not None
    assert fire.high_c is not None
    assert fire.low_c < fire.mean_c < fire.high_c
    assert fire.ready_t is not None
    assert fire.ready_t < 10.0
    assert 100 < len(fire.trace) <= 400


def test_a_cook_is_told_as_a_whole() -> None:
    facts = demo_facts()
    assert facts.window_t == (1080.0, 2880.0)
    assert facts.chance_at_on is not None
    assert facts.chance_at_on > 0.95
    assert facts.ends_t == pytest.approx(UNTIL_S, abs=1.0)
    assert facts.as_called is None
    said = [s.call for s in facts.said]
    assert said.count("pull_now") == 2
    assert {alarm.call for alarm in facts.alarms} == {"pull_now", "window", "rest_done"}
    now = next(alarm for alarm in facts.alarms if alarm.call == "pull_now")
    assert now.began_t == left(facts).now_t
    assert now.ended_t == pytest.approx(left(facts).off_t or 0.0, abs=1.0)
    assert now.times >= 2


@pytest.mark.parametrize(("logged", "as_called"), [(slice(None), True), (slice(-1), False)])
def test_working_a_cook_out_anew_is_held_against_the_calls_that_were_logged(
    logged: slice, as_called: bool
) -> None:
    lines = called()
    assert len(lines) >= 3
    assert study(PULLED, lines[logged]).as_called is as_called


def test_who_answered_an_alarm_and_when_is_told() -> None:
    now = next(call for call in calls() if call.call is CallKind.PULL_NOW)
    answer = Acknowledgement(now.t + 2.5, now.id, "Ann")
    alarm = next(a for a in study(small(answer)).alarms if a.id == now.id)
    assert (alarm.answered_t, alarm.by, alarm.times) == (now.t + 2.5, "Ann", 1)
    assert alarm.ended_t is None


def test_the_pull_temperature_in_force_at_off_is_the_one_that_counts() -> None:
    """Raised by two degrees half a minute before, and set to something else in the rest."""
    raised = Setting(265.0, "left", "pull_c", 56.0)
    later = Setting(312.0, "left", "pull_c", 50.0)
    steak = left(study(small(raised, later, off(308.0), end_t=315.0)))
    assert steak.pull_c == 56.0
    assert steak.settings.pull_c == 50.0
    assert steak.cross_t == pytest.approx(CROSS_T + 12.0, abs=0.5)
    assert [score.lead_s for score in steak.leads] == [40.0, 20.0]  # sixty was of another pull


def test_an_off_that_was_taken_back_is_no_off() -> None:
    wrong = off(200.0, "left")
    facts = study(small(wrong, Undo(206.0, wrong.id), off(299.0)))
    steak = left(facts)
    assert steak.off_t == 299.0
    assert [mark.mark for mark in steak.marks] == [MarkKind.ON, MarkKind.OFF]
    assert step(facts, "cook", "left").took_s == pytest.approx(298.9)


def test_a_mark_that_makes_no_sense_is_no_fact() -> None:
    again = Mark(100.0, "left", MarkKind.ON, "again")
    steak = left(study(small(again, off(299.0))))
    assert steak.on_t == 0.1
    assert [mark.mark for mark in steak.marks] == [MarkKind.ON, MarkKind.OFF]


def test_spots_correct_what_the_probe_showed() -> None:
    """The core is two degrees above what its probe shows, by two checks: it crossed earlier."""
    spots = [
        Spot(t, "left", 5.0 + RISE_C_PER_S * (t - 0.2) + 2.0, f"s{t:g}") for t in (200.0, 230.0)
    ]
    steak = left(study(small(*spots, off(290.0))))
    assert steak.cross_t is not None
    assert steak.cross_t < CROSS_T - 3.0
    assert [t for t, _ in steak.spots] == [200.0, 230.0]


def test_a_steak_that_never_went_on_has_settings_and_nothing_else() -> None:
    cook = parse_cook_lines(cook_lines(ONE, [Reached(30.0)]))
    facts = study(cook)
    assert facts.steaks == (SteakFacts("left", ONE.steaks[0], pull_c=54.0),)
    assert facts.ends_t == 30.0
    assert facts.fire.at_on_c is None


def test_followers_see_each_second_and_each_input_once_and_every_effect() -> None:
    seen = list[tuple[Input | None, float]]()
    effects = list[Effect]()
    ticks = list[float]()

    def follow(event: Input | None, what: list[Effect], t: float, cook: Cook) -> None:
        seen.append((event, t))
        effects.extend(what)
        ticks.append(cook.next_tick)

    cook = small(end_t=20.0)
    study(cook, follow=[follow])
    assert [event for event, _ in seen if event is not None] == list(cook.inputs)
    assert [t for event, t in seen if event is None] == [float(t) for t in range(21)]
    assert [t for _, t in seen] == sorted(t for _, t in seen)
    assert effects == list(replay(cook))


def test_a_cook_logged_from_before_its_zero_is_followed_from_there() -> None:
    early = list(rising("left", -3.0, -1.0, 5.0, 0.0))
    cook = parse_cook_lines(cook_lines(ONE, in_time_order(early, [Reached(2.0)])))
    seconds = list[float]()

    def follow(event: Input | None, _: list[Effect], t: float, __: Cook) -> None:
        if event is None:
            seconds.append(t)

    study(cook, follow=[follow])
    assert seconds == [-3.0, -2.0, -1.0, 0.0, 1.0, 2.0]


def test_a_cook_without_any_reading_is_studied_too() -> None:
    for inputs in ([], [on(1.0), off(2.0)]):
        facts = study(parse_cook_lines(cook_lines(ONE, inputs)))
        assert [(steak.cross_t, steak.peak_c) for steak in facts.steaks] == [(None, None)]
