"""How often somebody may do something: token buckets, one for each who does."""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass

#: Keys remembered; past it the one that asked longest ago is forgotten.
_MOST_KEYS = 1024
#: Seconds that clocks and sums may be off: whoever waits as long as told is let through.
_ROUNDING_S = 1e-6


@dataclass(frozen=True, slots=True)
class Limit:
    """``per_s`` requests a second in the long run, ``burst`` at once after a rest."""

    per_s: float
    burst: int


@dataclass(slots=True)
class _Bucket:
    tokens: float
    at: float


class Buckets:
    """A bucket for each key, a bounded number of them. ``now`` is monotonic seconds.

    A key that was forgotten starts with a full bucket again, so only a second limit over all of
    them stops somebody with very many addresses.
    """

    def __init__(self, limit: Limit, most_keys: int = _MOST_KEYS) -> None:
        self._limit = limit
        self._most_keys = most_keys
        self._buckets: OrderedDict[str, _Bucket] = OrderedDict()

    def __len__(self) -> int:
        return len(self._buckets)

    def take(self, key: str, now: float) -> float:
        """0 when allowed, else the seconds to wait; asking too early costs nothing."""
        bucket = self._refilled(key, now)
        missing = 1.0 - bucket.tokens
        if missing > _ROUNDING_S * self._limit.per_s:
            return missing / self._limit.per_s
        bucket.tokens = max(0.0, bucket.tokens - 1.0)
        return 0.0

    def _refilled(self, key: str, now: float) -> _Bucket:
        bucket = self._buckets.setdefault(key, _Bucket(float(self._limit.burst), now))
        self._buckets.move_to_end(key)
        while len(self._buckets) > self._most_keys:
            self._buckets.popitem(last=False)
        since_s = max(0.0, now - bucket.at)
        bucket.tokens = min(self._limit.burst, bucket.tokens + since_s * self._limit.per_s)
        bucket.at += since_s
        return bucket
