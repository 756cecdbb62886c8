"""A scenario under way: the simulated cook, marks from people, determinism."""

from dataclasses import replace

import pytest

from pullcall.errors import UnknownNameError
from pullcall.events import Mark, MarkKind, Reading, Spot
from pullcall.simulators.kitchen import Event, Kitchen
from pullcall.simulators.scenario import Habits, Pulls, Scenario, names, scenario

DEMO = scenario("demo")


def marks(events: list[Event], steak: str | None = None) -> list[tuple[float, MarkKind]]:
    return [(e.t, e.mark) for e in events if isinstance(e, Mark) and e.steak == steak]


def kinds(events: list[Event], steak: str | None) -> list[MarkKind]:
    return [kind for _, kind in marks(events, steak)]


def in_steps(cook: Scenario, step: float) -> list[Event]:
    kitchen, events = Kitchen(cook), list[Event]()
    for n in range(1, round(cook.lasts_s / step) + 1):
        events += kitchen.advance(n * step)
    return events


@pytest.mark.parametrize("name", names())
def test_the_same_seed_cooks_the_same_however_it_is_driven(name: str) -> None:
    cook = scenario(name, seed=4)
    whole = Kitchen(cook).advance(cook.lasts_s)
    assert in_steps(cook, 0.3) == whole
    assert in_steps(cook, 7.5) == whole
    assert Kitchen(scenario(name, seed=5)).advance(cook.lasts_s) != whole


@pytest.mark.parametrize("name", names())
def test_events_come_in_time_order_and_never_early(name: str) -> None:
    kitchen, last = Kitchen(scenario(name)), 0.0
    for n in range(1, 800):
        now = n * 0.7
        for event in kitchen.advance(now):
            assert last <= event.t <= now
            assert event.t > now - 0.7 - 1e-9
            last = event.t


def test_no_event_comes_before_the_time_it_is_announced_for() -> None:
    kitchen, seen = Kitchen(DEMO), list[Event]()
    for _ in range(3000):
        due = kitchen.next_at()
        events = kitchen.advance(due)
        assert all(event.t == due for event in events)
        seen += events
    assert seen == Kitchen(DEMO).advance(seen[-1].t)


@pytest.mark.parametrize("seed", range(1, 6))
def test_the_demo_calls_for_both_steaks_soon_and_one_after_the_other(seed: int) -> None:
    kitchen = Kitchen(scenario("demo", seed))
    events = kitchen.advance(1200.0)
    left, right = kitchen.outcome("left"), kitchen.outcome("right")
    assert left.cross_s is not None
    assert right.cross_s is not None
    # Two minutes at six times the speed of life hold 720 s; 30 s are left to open the page.
    assert left.cross_s - 40.0 <= 690.0
    assert 25.0 <= right.cross_s - left.cross_s <= 40.0
    for steak in ("left", "right"):
        assert marks(events, steak)[0][0] < 20.0
        assert 56.5 <= kitchen.outcome(steak).peak_c <= 58.0


@pytest.mark.parametrize("seed", range(1, 6))
def test_the_cook_follows_the_pattern_within_a_reaction(seed: int) -> None:
    events = Kitchen(scenario("demo", seed)).advance(500.0)
    for steak in ("left", "right"):
        on, *rest = marks(events, steak)
        assert [kind for _, kind in rest] == [MarkKind.TURN, MarkKind.FLIP, MarkKind.TURN]
        for (t, _), planned in zip(rest, DEMO.habits.pattern, strict=True):
            assert 1.0 <= t - on[0] - planned.t <= 3.0


def test_the_cook_pulls_a_reaction_after_the_core_has_crossed() -> None:
    kitchen = Kitchen(DEMO)
    kitchen.advance(1200.0)
    for steak in ("left", "right"):
        outcome = kitchen.outcome(steak)
        assert outcome.cross_s is not None
        assert outcome.pull_s is not None
        assert 5.5 <= outcome.pull_s - outcome.cross_s <= 10.0
        assert outcome.peak_s > outcome.pull_s


def test_the_lid_is_open_at_every_act_on_the_grate_and_shut_otherwise() -> None:
    is_open, opened = False, 0.0
    for event in Kitchen(DEMO).advance(1200.0):
        if not isinstance(event, Mark):
            continue
        if event.mark in (MarkKind.LID_OPEN, MarkKind.LID_CLOSE):
            assert is_open is not (event.mark is MarkKind.LID_OPEN)
            is_open = event.mark is MarkKind.LID_OPEN
            assert is_open or event.t - opened < 30.0
            opened = event.t
        elif event.mark is not MarkKind.BOXED:
            assert is_open
    assert not is_open


def test_a_flip_that_somebody_taps_is_not_repeated_by_the_cook() -> None:
    kitchen = Kitchen(DEMO)
    events = kitchen.advance(200.0)
    assert kitchen.apply(Mark(200.0, "left", MarkKind.FLIP))
    events += kitchen.advance(500.0)
    assert kinds(events, "left").count(MarkKind.FLIP) == 0
    assert kinds(events, "right").count(MarkKind.FLIP) == 1
    assert kinds(events, "left").count(MarkKind.TURN) == 2


def test_a_tapped_flip_changes_what_the_meat_does() -> None:
    tapped, untouched = Kitchen(DEMO), Kitchen(DEMO)
    for kitchen in (tapped, untouched):
        kitchen.advance(100.0)
    tapped.apply(Mark(100.0, "left", MarkKind.FLIP))
    for kitchen in (tapped, untouched):
        kitchen.advance(240.0)
    assert abs(tapped.core_c("left") - untouched.core_c("left")) > 0.1
    assert tapped.core_c("right") == untouched.core_c("right")


def test_a_steak_that_somebody_takes_off_early_stops_cooking_and_stays_off() -> None:
    kitchen = Kitchen(DEMO)
    kitchen.advance(400.0)
    kitchen.apply(Mark(400.0, "left", MarkKind.OFF))
    events = kitchen.advance(1200.0)
    assert kinds(events, "left") == [MarkKind.BOXED, MarkKind.HANDED_IN]
    assert kitchen.outcome("left").pull_s == 400.0
    assert kitchen.outcome("left").peak_c < 53.9
    assert kinds(events, "right").count(MarkKind.OFF) == 1


def test_a_steak_that_somebody_puts_on_early_starts_its_own_clock() -> None:
    kitchen = Kitchen(DEMO)
    kitchen.advance(3.0)
    assert kitchen.apply(Mark(3.0, "right", MarkKind.ON))
    events = kitchen.advance(140.0)
    assert kinds(events, "right") == [MarkKind.TURN]
    assert 124.0 <= marks(events, "right")[0][0] <= 126.0
    assert kinds(events, "left") == [MarkKind.ON, MarkKind.TURN]


def test_the_same_act_told_twice_is_done_once() -> None:
    kitchen, events = Kitchen(DEMO), list[Event]()
    while MarkKind.FLIP not in kinds(events, "left"):
        events += kitchen.advance(kitchen.next_at())
    flipped = events[-1].t
    assert not kitchen.apply(Mark(flipped, "left", MarkKind.FLIP))
    assert not kitchen.apply(Mark(flipped + 2.0, "left", MarkKind.FLIP))
    assert kitchen.apply(Mark(flipped + 60.0, "left", MarkKind.FLIP))


def test_a_tap_just_before_the_cook_acts_leaves_one_mark() -> None:
    cook = DEMO
    flip = next(t for t, kind in marks(Kitchen(cook).advance(300.0), "left") if kind == "flip")
    kitchen = Kitchen(cook)
    kitchen.advance(flip - 0.01)
    kitchen.apply(Mark(flip - 0.01, "left", MarkKind.FLIP))
    assert MarkKind.FLIP not in kinds(kitchen.advance(330.0), "left")


def test_a_mark_for_all_steaks_reaches_all_of_them() -> None:
    kitchen = Kitchen(DEMO)
    kitchen.advance(300.0)
    assert kitchen.apply(Mark(300.0, None, MarkKind.OFF))
    events = kitchen.advance(700.0)
    assert kinds(events, "left") == kinds(events, "right") == []


def test_acts_that_cannot_be_done_change_nothing() -> None:
    kitchen = Kitchen(DEMO)
    for kind in (MarkKind.FLIP, MarkKind.TURN, MarkKind.OFF, MarkKind.BOXED, MarkKind.HANDED_IN):
        assert not kitchen.apply(Mark(0.0, "left", kind))
    assert not kitchen.apply(Mark(0.0, None, MarkKind.LID_CLOSE))


def test_an_unknown_steak_is_refused_with_the_names_there_are() -> None:
    with pytest.raises(UnknownNameError, match="use left, right"):
        Kitchen(DEMO).apply(Mark(0.0, "middle", MarkKind.ON))


def test_a_cook_who_waits_to_be_told_pulls_when_told() -> None:
    cook = replace(DEMO, habits=replace(DEMO.habits, pulls=Pulls.WHEN_TOLD))
    kitchen = Kitchen(cook)
    kitchen.advance(500.0)
    kitchen.told_to_pull("left", 500.0)
    kitchen.told_to_pull("left", 500.5)
    events = kitchen.advance(1200.0)
    off = [t for t, kind in marks(events, "left") if kind is MarkKind.OFF]
    assert len(off) == 1
    assert 506.0 <= off[0] <= 509.0
    right = kitchen.outcome("right")  # never told: patience ends 2 K over
    assert right.cross_s is not None
    assert right.pull_s is not None
    assert right.pull_s - right.cross_s > 20.0


def test_readings_come_twice_a_second_from_each_probe() -> None:
    events = Kitchen(DEMO).advance(600.0)
    for channel in ("simulated-1/0", "simulated-2/0"):
        readings = [e for e in events if isinstance(e, Reading) and e.channel == channel]
        assert len(readings) == pytest.approx(1200, abs=10)
        assert all(reading.steak is None for reading in readings)


def test_spot_checks_are_made_only_while_the_steak_is_on() -> None:
    kitchen = Kitchen(scenario("spots"))
    events = kitchen.advance(1200.0)
    spots = [e for e in events if isinstance(e, Spot) and e.steak == "left"]
    off = kitchen.outcome("left").pull_s
    assert off is not None
    assert not any(isinstance(e, Reading) for e in events)
    assert 8 <= len(spots) <= 12
    assert all(spot.t <= off for spot in spots)
    assert spots[0].celsius < spots[-1].celsius


def test_a_hotter_fire_never_crosses_later() -> None:
    crossings = []
    for settled in (250.0, 280.0, 310.0, 340.0):
        fire = replace(DEMO.fire, settled_c=settled, start_c=settled)
        kitchen = Kitchen(replace(DEMO, fire=fire))
        kitchen.advance(1000.0)
        crossings.append(kitchen.outcome("left").cross_s or 1e9)
    assert crossings == sorted(crossings, reverse=True)


def test_over_a_dead_fire_no_steak_gets_warmer_than_the_air() -> None:
    dead = replace(DEMO.fire, settled_c=18.0, start_c=18.0, wander_c=0.0, drift_c_per_min=0.0)
    calm = replace(dead, lid_dip_c=0.0)
    kitchen = Kitchen(replace(DEMO, fire=calm, habits=Habits(opens_lid=False)))
    kitchen.advance(600.0)
    for steak in ("left", "right"):
        assert kitchen.core_c(steak) <= 18.5
        assert kitchen.outcome(steak).cross_s is None
