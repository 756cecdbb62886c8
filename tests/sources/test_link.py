"""One link as people see it."""

from pullcall.sources.age import Age
from pullcall.sources.decoding import Temperature, Verdict
from pullcall.sources.link import Link
from pullcall.sources.sink import LinkState, ProbeStatus
from pullcall.sources.timings import Timings

WARM = Temperature(54.3, Verdict.GOOD)
UNPLUGGED = Temperature(None, Verdict.INVALID)
MAD = Temperature(900.0, Verdict.OUT_OF_RANGE)


def link(*, connects: bool = True) -> Link:
    return Link(
        "AA:BB:CC:DD:EE:FF",
        "Health Thermometer",
        Timings(),
        connects=connects,
        quiet="nothing new",
    )


def connected(*channels: int) -> Link:
    made = link()
    made.is_connecting()
    made.has_connected(0.0, dict.fromkeys(channels or (1,), "Health Thermometer"))
    return made


def only(made: Link, now: float) -> ProbeStatus:
    (status,) = made.statuses(now)
    return status


def test_a_probe_goes_from_searching_over_connecting_to_streaming() -> None:
    made = link()
    assert only(made, 0.0).state is LinkState.SEARCHING
    made.is_connecting()
    assert (only(made, 0.0).state, only(made, 0.0).attempts) == (LinkState.CONNECTING, 1)
    made.has_connected(0.0, {1: "Health Thermometer"})
    assert only(made, 0.1).state is LinkState.CONNECTING
    assert only(made, 0.1).note == "connected, and waiting for its first value"
    assert made.has_value(1, WARM, 1.0) == 54.3
    status = only(made, 1.5)
    assert status.state is LinkState.STREAMING
    assert (status.channel, status.celsius) == ("AA:BB:CC:DD:EE:FF/1", 54.3)
    assert (status.age_s, status.attempts, status.note) == (0.5, 0, "")


def test_tries_are_counted_and_after_some_people_are_advised() -> None:
    made = link()
    for _ in range(3):
        made.is_connecting()
        made.has_dropped("radio interference broke the connection")
    assert only(made, 0.0).note == "radio interference broke the connection"
    made.is_connecting()
    made.has_dropped("radio interference broke the connection")
    status = only(made, 0.0)
    assert (status.state, status.attempts) == (LinkState.CONNECTING, 4)
    assert "away from Wi-Fi" in status.note


def test_a_silent_link_is_stale_then_to_be_dropped_then_lost() -> None:
    made = connected()
    made.has_value(1, WARM, 1.0)
    assert only(made, 4.0).state is LinkState.STALE
    assert only(made, 4.0).celsius == 54.3
    assert made.judge(10.0) is Age.RECONNECT
    made.has_dropped("it sent nothing", gave_up=True)
    assert only(made, 10.0).state is LinkState.SEARCHING
    assert only(made, 31.0).state is LinkState.LOST
    assert only(made, 31.0).celsius is None
    assert only(made, 31.0).age_s == 30.0


def test_no_reading_proves_the_link_but_gives_no_temperature() -> None:
    made = connected()
    made.has_value(1, WARM, 1.0)
    for second in range(2, 20):
        assert made.has_value(1, UNPLUGGED, float(second)) is None
    status = only(made, 19.5)
    assert (status.state, status.celsius, status.age_s) == (LinkState.STREAMING, None, 18.5)
    assert "check its plug" in status.note
    assert made.judge(19.5) is Age.FRESH


def test_a_value_out_of_range_is_not_delivered_and_is_explained() -> None:
    made = connected()
    assert made.has_value(1, MAD, 1.0) is None
    assert "out of range" in only(made, 1.0).note


def test_a_refused_packet_is_counted_and_proves_nothing() -> None:
    made = connected()
    made.has_value(1, WARM, 1.0)
    made.has_refused("too short")
    assert only(made, 1.0).refused == 1
    assert made.judge(10.0) is Age.RECONNECT


def test_one_channel_can_be_stale_while_the_other_streams() -> None:
    made = connected(1, 2)
    made.has_value(2, WARM, 0.5)
    for second in range(1, 10):
        made.has_value(1, WARM, float(second))
    assert [s.state for s in made.statuses(9.5)] == [LinkState.STREAMING, LinkState.STALE]
    assert made.judge(9.5) is Age.FRESH


def test_channels_keep_their_numbers_over_a_reconnect() -> None:
    made = connected(1, 2)
    made.is_labelled(2, "fat end")
    made.has_dropped("the link dropped")
    made.is_connecting()
    made.has_connected(5.0, {1: "Health Thermometer", 2: "Health Thermometer"})
    made.was_heard("Twin", -60)
    assert [(s.channel[-1], s.name) for s in made.statuses(5.0)] == [
        ("1", "Twin"),
        ("2", "Twin (fat end)"),
    ]


def test_an_advertiser_is_judged_by_new_values_alone() -> None:
    made = link(connects=False)
    made.was_heard("Advert", -70)
    assert only(made, 0.0).state is LinkState.SEARCHING
    made.has_value(1, WARM, 1.0)
    made.was_heard("Advert", -71)
    assert only(made, 4.5).state is LinkState.STALE
    assert "nothing new" in only(made, 4.5).note
    assert only(made, 31.0).state is LinkState.LOST


def test_the_note_of_a_refused_packet_goes_with_the_next_value() -> None:
    made = link(connects=False)
    made.has_refused("too short")
    assert only(made, 0.0).note == "too short"
    made.has_value(1, WARM, 1.0)
    assert only(made, 4.5).note == "nothing new"


def test_the_time_while_nobody_listened_is_no_interval() -> None:
    made = link(connects=False)
    made.has_value(1, WARM, 0.0)
    made.is_listened_for(60.0)
    made.has_value(1, WARM, 61.0)
    assert only(made, 65.0).state is LinkState.STALE


def test_a_name_that_a_stranger_chose_is_short_and_prints_as_it_reads() -> None:
    made = connected()
    made.was_heard(f"\u202epit\x00 {'x' * 300}", -60)
    made.is_labelled(1, f"\u2066left\n{'y' * 300}")
    shown = only(made, 0.5).name
    assert shown.startswith("pit xxx")
    assert "(leftyyy" in shown
    assert shown.isprintable()
    assert len(shown) <= 80


def test_one_channel_that_falls_silent_beside_another_says_to_check_its_plug() -> None:
    made = connected(1, 2)
    made.has_value(1, WARM, 1.0)
    made.has_value(2, WARM, 1.0)
    for second in range(2, 40):
        made.has_value(1, WARM, float(second))
    first, other = made.statuses(39.5)
    assert (first.state, first.note) == (LinkState.STREAMING, "")
    assert other.state is LinkState.LOST
    assert "check its plug" in other.note


def test_what_is_only_listened_for_says_that_bluetooth_went_away() -> None:
    made = link(connects=False)
    made.has_value(1, WARM, 1.0)
    made.is_cut_off("Bluetooth went away")
    assert (only(made, 1.5).state, only(made, 1.5).note) == (LinkState.STREAMING, "")
    assert only(made, 4.5).note == "Bluetooth went away"
    made.may_be_heard()
    assert only(made, 4.5).note == "nothing new"


def test_whatever_is_late_says_why() -> None:
    made = connected()
    made.has_value(1, WARM, 1.0)
    assert only(made, 5.0).note == "connected, and it sends nothing"
    made.is_connecting()
    assert "not heard" in only(made, 40.0).note
