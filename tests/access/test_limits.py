"""How often somebody may ask."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pullcall.access.limits import (
    ATTEMPTS_OF_ONE,
    OF_PAIRED,
    OF_STRANGER,
)
from pullcall.buckets import Buckets, Limit


def allowed(buckets: Buckets, key: str, now: float, times: int = 1000) -> int:
    return sum(buckets.take(key, now) == 0.0 for _ in range(times))


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
