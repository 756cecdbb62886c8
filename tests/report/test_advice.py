"""Advice names what was off, with its figures, and nothing that the figures do not carry."""

from __future__ import annotations

from dataclasses import replace

from pullcall.events import CallKind, Lessons, MarkKind, PullBy
from pullcall.hindsight.facts import CookFacts, FireFacts
from pullcall.learning.choice import Mode
from pullcall.learning.lesson import Lesson
from pullcall.report.advice import advise
from pullcall.report.advising.advice import Advice
from tests.report.hand import alarm, cook, earlier_cooks, fire_trace, full_cook, steak, with_steak


def one(facts: CookFacts, earlier: tuple[CookFacts, ...] = (), unit: str = "F") -> Advice:
    found = advise(facts, earlier, unit=unit)
    assert len(found) == 1, found
    return found[0]


def left(**changes: object) -> CookFacts:
    """A good cook but for its left steak."""
    return with_steak(cook(), 0, **changes)


def test_a_good_cook_needs_no_advice() -> None:
    assert advise(cook(), earlier_cooks()) == ()


def test_slow_after_the_call() -> None:
    off_t = cook().steaks[0].off_t
    assert off_t is not None
    told = one(left(now_t=off_t - 12.0, cross_t=off_t - 9.0))
    assert told.words == "Stand at the grate by “10” and take left off at “pull now”."
    assert told.reason == (
        "12 s passed from “pull now” to off, 9 s of them past its pull temperature, which at "
        "7.2 F a minute is 1.1 F."
    )


def test_a_slow_hand_that_was_called_earlier_and_left_on_its_crossing_is_not_scolded() -> None:
    off_t = cook().steaks[0].off_t
    assert off_t is not None
    assert advise(reacting(7.0, left(now_t=off_t - 7.0, cross_t=off_t)), ()) == ()
    told = one(reacting(7.0, left(now_t=off_t - 13.0, cross_t=off_t - 6.0)))
    assert "13 s passed from “pull now” to off, 6 s more than the 7 s allowed for" in told.reason


def test_nobody_is_told_to_stand_by_a_number_that_was_not_called() -> None:
    facts = left(now_t=(cook().steaks[0].off_t or 0.0) - 12.0, cross_t=None)
    said = tuple(s for s in facts.said if not s.text.endswith(" 10"))
    assert "by “20” and" in one(replace(facts, said=said)).words
    none = tuple(s for s in facts.said if s.call != CallKind.PULL_SOON)
    assert one(replace(facts, said=none)).words == (
        "Stand at the grate before “pull now” and take left off at “pull now”."
    )


def test_a_steak_taken_too_early_after_pull_now_is_not_told_to_wait_for_it() -> None:
    off_t = cook().steaks[0].off_t
    assert off_t is not None
    facts = left(off_c=52.9, now_t=off_t - 2.0, peak_c=56.2, cross_t=off_t + 14.0)
    told = one(reacting(8.0, facts))
    assert told.words == "Leave left on until its pull temperature: “pull now” came early."
    assert "off 2 s after “pull now”, which was called for 8.0 s" in told.reason


def reacting(reaction_s: float, facts: CookFacts) -> CookFacts:
    """The cook, called for such a reaction."""
    return replace(facts, setup=replace(facts.setup, lessons=Lessons(reaction_s=reaction_s)))


def test_off_above_the_pull_without_a_call() -> None:
    told = one(left(off_c=55.1, now_t=None, peak_c=57.9))
    assert told.words == "Take left off at its pull temperature."
    assert told.reason == "It came off at 131.2 F, 2.2 F above the pull; “pull now” was not called."


def test_off_before_the_pull() -> None:
    off_t = cook().steaks[0].off_t
    assert off_t is not None
    told = one(left(off_c=52.9, now_t=None, peak_c=56.2, cross_t=off_t + 14.0))
    assert told.words == "Leave left on until “pull now”."
    assert "1.8 F below the pull, about 14 s before it would have been there" in told.reason


def test_a_peak_above_the_target_pulls_earlier() -> None:
    """Off at 54.2 it peaked 2 K above: 2 / 0.78 K lower at off, 51.6 C, 2.3 K below the pull."""
    told = one(left(peak_c=59.0), unit="C")
    assert told.words == "Pull left 2.3 C earlier: at 51.6 C."
    assert told.reason == (
        "Left peaked at 59.0 C, 2.0 C above its target; it climbed 4.8 C after off, told 2.8 C."
    )


def test_a_peak_below_the_target_pulls_later() -> None:
    assert one(left(peak_c=55.4), unit="C").words == "Pull left 2.4 C later: at 56.3 C."


def test_a_steak_pulled_by_its_target_is_shifted() -> None:
    settings = replace(cook().steaks[0].settings, pull_by=PullBy.TARGET, shift_c=0.5)
    told = one(left(peak_c=59.0, settings=settings), unit="C")
    assert told.words == "Pull left 2.3 C earlier: set its shift to −1.8 C."


def carry_over(mode: Mode, own: float | None = None) -> Lesson:
    """Learned: 1.3 K more than the forecast says."""
    figure = {Mode.LEARNED: 4.1, Mode.DEFAULT: 2.8, Mode.OWN: own or 0.0}[mode]
    return Lesson("carry_over", "Carry-over", "C", mode, 2.8, 4.1, own, figure, 4, "", (), 0.0, 8.0)


def test_what_the_lesson_in_force_corrects_by_itself_is_not_advised_again() -> None:
    """The whole change is 2.3 K earlier, as above; told 2.8 K, without any lesson."""
    by_target = replace(cook().steaks[0].settings, pull_by=PullBy.TARGET)
    facts = left(peak_c=59.0, settings=by_target)

    def told(lesson: Lesson, facts: CookFacts = facts) -> str:
        return " ".join(a.words for a in advise(facts, (), (lesson,), unit="C"))

    assert told(carry_over(Mode.DEFAULT)) == "Pull left 2.3 C earlier: set its shift to −2.3 C."
    assert told(carry_over(Mode.LEARNED)) == "Pull left 1.0 C earlier: set its shift to −1.0 C."
    assert told(carry_over(Mode.OWN, 4.8)) == ""
    taught = left(peak_c=59.0, settings=by_target, climb_taught_c=1.3)
    assert told(carry_over(Mode.LEARNED), taught).startswith("Pull left 2.3 C earlier")


def test_a_pull_temperature_that_was_set_is_moved_by_no_lesson() -> None:
    found = advise(left(peak_c=59.0), (), (carry_over(Mode.LEARNED),), unit="C")
    assert found[0].words == "Pull left 2.3 C earlier: at 51.6 C."


def test_a_miss_that_the_late_pull_explains_changes_no_pull_temperature() -> None:
    """1.2 K above the pull, and 0.9 K above the target: off at the pull it would have met it."""
    told = one(left(off_c=55.1, peak_c=57.9))
    assert told.words == "Take left off at its pull temperature."


def test_a_miss_beyond_carry_over_asks_for_the_probe() -> None:
    assert "where the probe of left sat" in one(left(peak_c=63.5)).words


def test_a_lesson_of_earlier_cooks_ends_the_reason() -> None:
    lesson = Lesson(
        "carry_over", "Carry-over", "C", Mode.DEFAULT, 2.8, 4.1, None, 2.8, 4, "", (), 0.0, 8.0
    )
    told = advise(left(peak_c=59.0), (), (lesson,), unit="C")[0]
    assert told.reason.endswith(
        "(next cook’s carry-over: from your 4 cooks: 4.1 C, not in use, default 2.8 C)."
    )


def test_a_rest_cut_short() -> None:
    off_t = cook().steaks[0].off_t
    assert off_t is not None
    told = one(left(boxed_t=off_t + 260.0))
    assert told.words == "Give left its whole rest: 7 min at least."
    assert told.reason == "It was boxed 4:20 after off."


def test_a_flip_off_the_pattern() -> None:
    marks = [
        replace(m, t=m.t + 30.0) if m.mark is MarkKind.FLIP else m for m in cook().steaks[0].marks
    ]
    told = one(left(marks=tuple(marks)))
    assert told.words == "Left: flip sooner, at the call."
    assert told.reason == "It came 32 s after its time, 4:32 after on instead of 4:00."


def test_a_flip_nobody_tapped() -> None:
    marks = tuple(m for m in cook().steaks[0].marks if m.mark is not MarkKind.FLIP)
    assert one(left(marks=marks)).words == "Tap the flip of left."


def test_a_grate_below_its_floor_at_the_first_on() -> None:
    told = one(replace(cook(), fire=FireFacts(245.0, 240.0, 250.0, 245.0)))
    assert told.words == "Wait for the grate: 500 F before the first steak goes on."
    assert told.reason == "It was 473 F as the first went on, 27.0 F short."


def test_a_grate_that_fell_below_its_floor() -> None:
    told = one(replace(cook(), fire=FireFacts(285.0, 250.0, 290.0, 270.0)))
    assert "fell to 482 F while they cooked, floor 500 F" in told.reason


def test_a_grate_that_fell_but_not_below() -> None:
    fire = FireFacts(310.0, 265.0, 310.0, 290.0, None, fire_trace(310.0, 265.0, 750.0))
    assert one(replace(cook(), fire=fire)).words == "Pour more coal, for a fire that lasts."


def test_a_grate_above_its_ceiling() -> None:
    told = one(replace(cook(), fire=FireFacts(300.0, 290.0, 420.0, 350.0)))
    assert told.reason == "The grate rose to 788 F, ceiling 750 F."


def test_pulls_too_close_for_one_pair_of_hands() -> None:
    told = one(cook(steaks=(steak(), steak("right", 112.0))))
    assert told.words == "Put right on 20 s later."
    assert told.reason.startswith("Left and right came off 12 s apart")


def test_pulls_far_apart() -> None:
    told = one(cook(steaks=(steak(), steak("right", 400.0))))
    assert "came off 5 min apart" in told.reason


def test_the_window() -> None:
    facts = cook()
    at = facts.handed_in_t
    assert at is not None
    missed = one(replace(facts, window_t=(at - 1_860.0, at - 60.0)))
    assert missed.words == "Begin everything 21 min earlier."
    assert missed.reason == "The box was handed in 60 s after turn-in closed."
    assert missed.weight > 5.0
    early = one(replace(facts, window_t=(at + 60.0, at + 1_860.0)))
    assert "before turn-in opened" in early.reason
    tight = one(replace(facts, window_t=(at - 1_720.0, at + 80.0)))
    assert tight.reason == "Only 80 s were left of the window."
    wasted = one(replace(facts, window_t=(at - 60.0, at + 1_740.0)))
    assert wasted.words == "Put the steaks on about 9 min later."
    assert "with 29 min left of the window" in wasted.reason


def test_the_latest_step_of_the_day() -> None:
    late = replace(cook().steps[0], began_t=-1_900.0)
    told = one(replace(cook(), steps=(late, *cook().steps[1:])))
    assert told.words == "Light the chimney: begin it on time."
    assert told.reason == "It was 8 min 20 s late by the plan."


def test_probe_trouble() -> None:
    told = one(replace(cook(), alarms=(alarm(), alarm(began_t=500.0))))
    assert told.words.startswith("See to the probe of left")
    assert told.reason == "It was lost or read wrong 2 times: no reading for 20 s."


def test_nobody_heard() -> None:
    told = one(replace(cook(), alarms=(alarm(CallKind.UNHEARD, steaks=()),)))
    assert told.reason == "For 40 s nobody could hear a call."


def test_nobody_answered() -> None:
    low = alarm(CallKind.FIRE_LOW, answered=False, steaks=(), cause="grate below its floor")
    told = one(replace(cook(), alarms=(low,)))
    assert told.words.startswith("Answer alarms")
    assert told.reason == "Nobody answered: grate below its floor (40 s, sounded 3 times)."


def test_a_prompt_asks_for_no_answer() -> None:
    prompts = (alarm(CallKind.REST_DONE, answered=False), alarm(CallKind.PLAN_STEP, answered=False))
    assert advise(replace(cook(), alarms=prompts), ()) == ()


def test_a_forecast_worse_than_usual() -> None:
    leads = tuple(
        replace(x, pull_in_s=replace(x.pull_in_s, p50=x.pull_in_s.p50 + 15.0))
        for x in cook().steaks[0].leads
    )
    facts = left(leads=leads)
    told = one(facts, earlier_cooks())
    assert (
        told.reason == "In the last minute the pull was told 8.8 s wrong, usually 1.3 s (3 cooks)."
    )
    assert advise(facts, earlier_cooks()[:1]) == ()


def test_what_was_not_recorded_is_said_and_nothing_made_of_it() -> None:
    facts = replace(left(peak_c=None, boxed_t=None, off_c=None), fire=FireFacts())
    told = one(facts)
    assert told.words == "Record what was missing."
    assert told.reason == (
        "Too little to say: the peak of left (no readings past it); the rest of left (boxed was "
        "not tapped); the fire (no probe at the grate)."
    )


def test_the_weightiest_comes_first_and_each_has_a_figure() -> None:
    found = advise(full_cook(), earlier_cooks())
    assert [a.weight for a in found] == sorted((a.weight for a in found), reverse=True)
    assert len(found) > 9
    assert all(any(c.isdigit() for c in a.words + a.reason) for a in found)
