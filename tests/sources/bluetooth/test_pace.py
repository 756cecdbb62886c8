"""Waits, ages and freshness, with the clock as an argument."""

from random import Random

from hypothesis import given
from hypothesis import strategies as st

from pullcall.sources.bluetooth.options import Timings
from pullcall.sources.bluetooth.pace import (
    Age,
    BackOff,
    DataAge,
    Freshness,
    ScanVerdict,
    ScanWatch,
)


def streaming(interval: float, values: int = 10) -> tuple[DataAge, float]:
    """Return an age fed every ``interval`` seconds, and the time of its last value."""
    age = DataAge(Timings())
    age.linked(0.0)
    for n in range(1, values + 1):
        age.heard(n * interval)
    return age, values * interval


def test_waits_grow_to_a_cap_and_go_on_for_ever() -> None:
    back_off = BackOff((0.5, 1.0, 2.0, 4.0, 5.0), 0.0, Random(1))
    assert [back_off.next() for _ in range(7)] == [0.5, 1.0, 2.0, 4.0, 5.0, 5.0, 5.0]
    back_off.reset()
    assert back_off.next() == 0.5


@given(st.integers())
def test_jitter_stays_within_its_share(seed: int) -> None:
    waits = [BackOff((5.0,), 0.2, Random(seed)).next() for _ in range(3)]
    assert all(4.0 <= wait <= 6.0 for wait in waits)


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


def test_an_advert_shown_again_is_not_new() -> None:
    freshness = Freshness()
    assert freshness.has_changed(b"\x02\xca\x09")
    assert not freshness.has_changed(b"\x02\xca\x09")
    assert freshness.has_changed(b"\x02\xcb\x09")


def test_a_changed_advert_with_the_same_packet_id_is_not_new() -> None:
    freshness = Freshness()
    assert [freshness.is_new_packet(n) for n in (7, 7, 8, None, 8)] == [
        True,
        False,
        True,
        True,
        False,
    ]


def test_a_silent_scan_is_started_anew_and_the_third_time_counts_as_stuck() -> None:
    watch = ScanWatch(Timings())
    watch.started(0.0)
    assert watch.judge(29.9, is_wanted=True) is ScanVerdict.GOES_ON
    for n in range(1, 4):
        assert not watch.is_stuck
        assert watch.judge(30.0 * n, is_wanted=True) is ScanVerdict.START_ANEW
        watch.started(30.0 * n)
    assert watch.is_stuck
    watch.heard(95.0)
    assert not watch.is_stuck


def test_silence_is_no_trouble_while_every_probe_streams() -> None:
    watch = ScanWatch(Timings())
    watch.started(0.0)
    assert watch.judge(1000.0, is_wanted=False) is ScanVerdict.GOES_ON
    assert watch.judge(1029.0, is_wanted=True) is ScanVerdict.GOES_ON
    assert watch.judge(1030.0, is_wanted=True) is ScanVerdict.START_ANEW
