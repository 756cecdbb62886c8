"""A board tells a cook's clock from pulses that come late, and steadily."""

from __future__ import annotations

import pytest

from pullcall.board.pulse_clock import PulseClock


def test_the_least_delayed_pulse_counts() -> None:
    clock = PulseClock()
    for t, delay in ((0.0, 0.4), (1.0, 0.01), (2.0, 0.9), (3.0, 0.3)):
        clock.pulse(t, 100.0 + t + delay, 1.0)
    assert clock.now(110.0) == pytest.approx(10.0, abs=0.02)
    assert clock.at(50.0) == pytest.approx(150.0, abs=0.02)


def test_a_moment_does_not_move_with_every_pulse() -> None:
    clock, moments = PulseClock(), set()
    for k in range(60):
        clock.pulse(float(k), 100.0 + k + 0.001 * (k * 7 % 40), 1.0)
        moments.add(clock.at(500.0))
    assert len(moments) == 1


def test_it_allows_for_the_speed_of_a_demo() -> None:
    clock = PulseClock()
    for k in range(5):
        clock.pulse(6.0 * k, 100.0 + k, 6.0)
    assert clock.now(110.0) == pytest.approx(60.0)
    assert clock.at(120.0) == pytest.approx(120.0)


def test_it_runs_on_while_nothing_is_heard() -> None:
    clock = PulseClock()
    clock.pulse(300.0, 100.0, 1.0)
    assert clock.now(160.0) == pytest.approx(360.0)


def test_a_way_that_became_slower_is_late_until_it_stays_so_for_two_minutes() -> None:
    clock = PulseClock()
    for k in range(180):
        clock.pulse(float(k), 100.0 + k + (0.0 if k < 5 else 2.0), 1.0)
        if k == 20:
            assert clock.now(122.0) == pytest.approx(22.0)
            assert clock.late_s == pytest.approx(2.0)
    assert clock.now(282.0) == pytest.approx(180.0)
    assert clock.late_s == pytest.approx(0.0)


def test_another_cook_begins_at_its_own_zero_at_once() -> None:
    clock = PulseClock()
    clock.pulse(900.0, 1000.0, 1.0)
    clock.pulse(0.5, 1001.0, 1.0)
    assert clock.now(1001.0) == pytest.approx(0.5)


def test_what_the_broker_kept_counts_until_a_pulse_is_heard() -> None:
    clock = PulseClock()
    clock.guess(300.0, 90.0, 1.0)
    assert clock.now(100.0) == pytest.approx(310.0)
    clock.pulse(311.0, 101.5, 1.0)
    assert clock.now(101.5) == pytest.approx(311.0)


def test_a_replay_stands_where_its_cook_ended() -> None:
    clock = PulseClock()
    clock.pulse(400.0, 100.0, 6.0, stands=True)
    assert clock.now(200.0) == 400.0


def test_before_any_pulse_there_is_no_clock() -> None:
    assert PulseClock().at(10.0) is None
    assert PulseClock().now(1000.0) == 0.0
