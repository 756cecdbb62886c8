"""Topics of gateways, and the channels that come of them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pullcall.core.channel import is_channel
from pullcall.sources.mqtt.topics import TopicFilter, check_filter, device_of, is_over_mqtt

LEVEL = st.text(st.characters(exclude_characters="/\0"), max_size=40)
LEVELS = st.lists(LEVEL, min_size=1, max_size=4).map(tuple)
#: Of one filter: each has as many levels as the other.
FEW = st.text("ab-_ ", max_size=4)
PAIRS = st.integers(1, 3).flatmap(lambda n: st.tuples(*[st.tuples(*[FEW] * n)] * 2))
LONGEST_NAME = "n" * 24


def test_a_plus_is_one_level_and_any_text_on_it() -> None:
    # The examples of "+" in MQTT 5.0, 4.7.1.3.
    sport = TopicFilter("sport/tennis/+")
    assert sport.levels("sport/tennis/player1") == ("player1",)
    assert sport.levels("sport/tennis/player1/ranking") is None
    assert TopicFilter("sport/+").levels("sport") is None
    assert TopicFilter("sport/+").levels("sport/") == ("",)
    assert TopicFilter("+/+").levels("/finance") == ("", "finance")
    assert TopicFilter("+").levels("/finance") is None


def test_a_filter_without_a_plus_is_one_topic_and_its_dots_are_dots() -> None:
    one = TopicFilter("gateway/v1.2")
    assert one.levels("gateway/v1.2") == ()
    assert one.levels("gateway/v1x2") is None


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("gateway/#", "in place of each level"),
        ("#", "in place of each level"),
        ("gateway/a+/t", "stands for a whole level"),
        ("$SYS/broker/load", "the broker's own"),
        ("$share/group/gateway", "the broker's own"),
        ("+/+/+/+/+", "at most 4"),
        ("", "1 to 200"),
        ("a" * 201, "1 to 200"),
        ("a\0b", "printable"),
    ],
)
def test_a_filter_that_is_not_served_says_what_to_write(text: str, says: str) -> None:
    with pytest.raises(ValueError, match=says):
        check_filter(text)


def test_a_channel_has_the_name_and_the_device() -> None:
    assert device_of("pit") == "mqtt:pit"
    assert device_of("gate", ("kitchen2",)) == "mqtt:gate-kitchen2"
    assert device_of("gate", ("AA:BB:CC:DD:EE:FF",)) == "mqtt:gate-AA:BB:CC:DD:EE:FF"
    assert device_of("gate", ("yard", "kitchen2")) == "mqtt:gate-yard-kitchen2"


def test_the_sum_of_an_odd_level_is_the_same_each_time() -> None:
    # The first 12 digits of what `printf 'kitchen 2' | sha256sum` prints.
    assert device_of("gate", ("kitchen 2",)) == "mqtt:gate-kitchen_2~bee628a199a1"


def test_levels_that_look_alike_are_different_devices() -> None:
    for alike in (
        [("a-b", "c"), ("a", "b-c"), ("a-b-c", ""), ("", "a-b-c"), ("a", "b_c"), ("a", "b c")],
        [("a b",), ("a_b",), ("a  b",), ("a_b~",), ("",), ("_",), ("x" * 40,), ("x" * 41,)],
    ):
        assert len({device_of("gate", levels) for levels in alike}) == len(alike)


@given(PAIRS)
def test_no_two_devices_share_a_channel(pair: tuple[tuple[str, ...], tuple[str, ...]]) -> None:
    one, other = pair
    assert (device_of("gate", one) == device_of("gate", other)) == (one == other)


@given(LEVELS)
def test_every_channel_is_one_that_a_steak_can_have(levels: tuple[str, ...]) -> None:
    channel = f"{device_of(LONGEST_NAME, levels)}/64"
    assert is_channel(channel)
    assert len(channel) <= 80
    assert is_over_mqtt(channel)


def test_a_bluetooth_address_is_no_gateways() -> None:
    assert not is_over_mqtt("AA:BB:CC:DD:EE:FF/1")
