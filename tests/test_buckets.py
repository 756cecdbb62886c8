"""Token buckets, one for each who does something."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

from pullcall.buckets import Buckets, Limit

DAEMON = Path(__file__).parents[1] / "daemon" / "pullcall"
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
    buckets = Buckets(SLOW)
    for number in range(5000):
        buckets.take(f"address {number}", 0.0)
    assert len(buckets) == 1024


@pytest.mark.parametrize(
    "path",
    [DAEMON / "journal.py", *DAEMON.glob("network/*.py")],
    ids=lambda path: path.stem,
)
def test_below_pairing_nothing_knows_of_it(path: Path) -> None:
    """Connections and lines are limited whoever was let in."""
    imported = [
        node.module or ""
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.ImportFrom)
    ]
    assert not [name for name in imported if name.startswith("pullcall.access")]
