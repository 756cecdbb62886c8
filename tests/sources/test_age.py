"""Ages of data, with the clock as an argument."""

from pullcall.sources.age import Age, DataAge
from pullcall.sources.timings import Timings


def streaming(interval: float, values: int = 10) -> tuple[DataAge, float]:
    """Return an age fed every ``interval`` seconds, and the time of its last value."""
    age = DataAge(Timings())
    age.linked(0.0)
    for n in range(1, values + 1):
        age.heard(n * interval)
    return age, values * interval


def test_a_fast_probe_is_stale_after_three_seconds_and_dropped_after_nine() -> None:
    age, last = streaming(0.5)
    assert age.judge(last + 2.9) is Age.FRESH
    assert age.judge(last + 3.0) is Age.STALE
    assert age.judge(last + 8.9) is Age.STALE
    assert age.judge(last + 9.0) is Age.RECONNECT


def test_a_slow_probe_is_given_three_of_its_own_intervals() -> None:
    age, last = streaming(5.0)
    assert age.judge(last + 14.9) is Age.FRESH
    assert age.judge(last + 15.0) is Age.RECONNECT


def test_the_interval_is_that_of_one_channel_and_not_between_channels() -> None:
    age = DataAge(Timings())
    age.linked(0.0)
    for second in range(0, 50, 5):
        for channel in (1, 2, 3):
            age.heard(second + 0.01 * channel, channel)
    assert abs(age.stale_after_s - 15.0) < 1e-6


def test_one_lost_value_does_not_change_the_interval() -> None:
    age, last = streaming(1.0)
    age.heard(last + 4.0)
    assert age.stale_after_s == 3.0


def test_the_gap_of_a_lost_link_is_no_interval() -> None:
    age, last = streaming(1.0, values=2)
    age.linked(last + 60.0)
    age.heard(last + 61.0)
    assert age.stale_after_s == 3.0


def test_a_probe_that_never_sends_is_given_longer_each_time() -> None:
    age = DataAge(Timings())
    waits = []
    for _ in range(5):
        age.linked(0.0)
        waits.append(age.reconnect_after_s)
        age.gave_up()
    assert waits == [9.0, 18.0, 36.0, 60.0, 60.0]
    age.heard(1.0)
    age.linked(2.0)
    assert age.reconnect_after_s == 9.0
