"""Freshness and silent scans, with the clock as an argument."""

from hypothesis import given
from hypothesis import strategies as st

from pullcall.sources.bluetooth.pace import (
    Freshness,
    ScanVerdict,
    ScanWatch,
)
from pullcall.sources.timings import Timings


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
