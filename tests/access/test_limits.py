"""How often somebody may ask."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pullcall.access.limits import (
    ATTEMPTS_OF_ONE,
    OF_PAIRED,
    OF_STRANGER,
    Buckets,
    Limit,
)

SLOW = Limit(per_s=0.5, burst=3)


def allowed(buckets: Buckets, key: str, now: float, times: int = 1000) -> int:
    return sum(buckets.take(key, now) == 0.0 for _ in range(times))


def test_a_burst_passes_and_then_one_at_a_time() -> None:
    buckets = Buckets(SLOW)
    assert [buckets.take("a", 0.0) for _ in range(4)] == [0.0, 0.0, 0.0, 2.0]
    assert buckets.take("a", 1.5) == 0.5
    assert buckets.take("a", 2.0) == 0.0
    assert buckets.take("a", 2.0) == 2.0


def test_a_rest_fills_the_bucket_and_no_further() -> None:
    buckets = Buckets(SLOW)
    allowed(buckets, "a", 0.0)
    assert allowed(buckets, "a", 1e6) == 3


def test_one_who_asks_too_often_slows_nobody_else() -> None:
    buckets = Buckets(SLOW)
    allowed(buckets, "a rival", 0.0)
    assert buckets.take("the cook", 0.0) == 0.0


def test_asking_too_early_costs_nothing() -> None:
    buckets = Buckets(SLOW)
    allowed(buckets, "a", 0.0)
    assert not any(buckets.take("a", 0.01 * step) == 0.0 for step in range(200))
    assert buckets.take("a", 2.0) == 0.0


def test_a_clock_that_goes_back_gives_nothing_away() -> None:
    buckets = Buckets(SLOW)
    allowed(buckets, "a", 100.0)
    assert buckets.take("a", 0.0) == 2.0
    assert buckets.take("a", 100.0) == 2.0


def test_of_too_many_keys_the_one_that_asked_longest_ago_is_forgotten() -> None:
    buckets = Buckets(SLOW, most_keys=3)
    for key in ("a", "b", "c"):
        allowed(buckets, key, 0.0)
    buckets.take("a", 0.0)
    buckets.take("d", 0.0)
    assert len(buckets) == 3
    assert buckets.take("a", 0.0) > 0.0
    assert buckets.take("b", 0.0) == 0.0


def test_however_many_addresses_come_the_table_stays_small() -> None:
    buckets = Buckets(OF_STRANGER)
    for number in range(5000):
        buckets.take(f"address {number}", 0.0)
    assert len(buckets) == 1024


@pytest.mark.parametrize(
    ("limit", "burst", "in_a_minute"),
    [
        (OF_PAIRED, 120, 120 + 30 * 60),
        (OF_STRANGER, 200, 200 + 10 * 60),
        (ATTEMPTS_OF_ONE, 5, 5 + 30),
    ],
)
def test_what_the_limits_let_through(limit: Limit, burst: int, in_a_minute: int) -> None:
    """ASVS 6.3.1: guessing is slowed down as documented."""
    buckets = Buckets(limit)
    passed = allowed(buckets, "a", 0.0)
    assert passed == burst
    assert passed + sum(allowed(buckets, "a", t / 4, 20) for t in range(1, 241)) == in_a_minute


@given(
    st.sampled_from([OF_PAIRED, OF_STRANGER, ATTEMPTS_OF_ONE]),
    st.floats(0.0, 1e7),
    st.lists(st.floats(0.0, 3.0), max_size=30),
)
def test_whoever_waits_as_long_as_told_is_let_through(
    limit: Limit, start: float, pauses: list[float]
) -> None:
    buckets, now = Buckets(limit), start
    for pause in pauses:
        now += pause
        allowed(buckets, "a", now, limit.burst)
        wait_s = buckets.take("a", now)
        assert wait_s <= 1.0 / limit.per_s
        if wait_s:
            now += wait_s
            assert buckets.take("a", now) == 0.0
