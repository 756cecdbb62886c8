"""What became of a link since the daemon began."""

from __future__ import annotations

from pullcall.sources.decoding import Temperature, Verdict
from pullcall.sources.sink import LinkCounts
from tests.sources.test_link import link


def test_every_connect_counts_and_a_link_that_stands_again_is_a_reconnect() -> None:
    made = link()
    assert made.counts() == LinkCounts("AA:BB:CC:DD:EE:FF", 0, 0)
    made.is_connecting()
    made.has_dropped("out of reach")
    made.is_connecting()
    made.has_connected(1.0, {1: "Health Thermometer"})
    assert made.counts() == LinkCounts("AA:BB:CC:DD:EE:FF", 2, 0)
    made.has_dropped("the link dropped")
    made.is_connecting()
    made.has_connected(9.0, {1: "Health Thermometer"})
    assert made.counts() == LinkCounts("AA:BB:CC:DD:EE:FF", 3, 1)


def test_a_value_ends_the_tries_and_not_the_counts() -> None:
    made = link()
    made.is_connecting()
    made.has_connected(0.0, {1: "Health Thermometer"})
    made.has_value(1, Temperature(54.3, Verdict.GOOD), 1.0)
    assert made.attempts == 0
    assert made.counts().connects == 1
