"""Waits and freshness, with the clock as an argument."""

from random import Random

from hypothesis import given
from hypothesis import strategies as st

from pullcall.sources.bluetooth.pace import (
    BackOff,
    Freshness,
    ScanVerdict,
    ScanWatch,
)
from pullcall.sources.timings import Timings


def test_waits_grow_to_a_cap_and_go_on_for_ever() -> None:
    back_off = BackOff((0.5, 1.0, 2.0, 4.0, 5.0), 0.0, Random(1))
    assert [back_off.next() for _ in range(7)] == [0.5, 1.0, 2.0, 4.0, 5.0, 5.0, 5.0]
    back_off.reset()
    assert back_off.next() == 0.5


@given(st.integers())
def test_jitter_stays_within_its_share(seed: int) -> None:
    waits = [BackOff((5.0,), 0.2, Random(seed)).next() for _ in range(3)]
    assert all(4.0 <= wait <= 6.0 for wait in waits)


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


def test_an_old_packet_sent_again_is_not_new_however_old_it_is() -> None:
    freshness = Freshness()
    assert all(freshness.is_new_packet(n % 256) for n in range(300))
    for back in range(1, 224):
        assert not freshness.is_new_packet((299 - back) % 256)
    assert freshness.is_new_packet(300 % 256)


def test_a_packet_is_new_though_many_before_it_were_missed() -> None:
    freshness = Freshness()
    assert freshness.is_new_packet(250)
    assert freshness.is_new_packet((250 + 32) % 256)


def test_a_probe_that_counts_anew_is_believed_at_its_third_packet() -> None:
    freshness = Freshness()
    assert freshness.is_new_packet(200)
    assert [freshness.is_new_packet(n) for n in (1, 1, 2, 4, 5)] == [
        False,
        False,
        False,
        True,
        True,
    ]


@given(st.integers(0, 255), st.integers(1, 200))
def test_old_packets_among_new_ones_are_never_believed(first: int, back: int) -> None:
    freshness = Freshness()
    assert freshness.is_new_packet(first)
    for n in range(1, 20):
        assert freshness.is_new_packet((first + n) % 256)
        assert not freshness.is_new_packet((first + n - back) % 256)


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
