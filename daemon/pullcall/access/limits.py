"""How often somebody may ask: token buckets, one for each who asks."""

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


#: A paired phone: a page that polls asks once a second, and a burst covers opening it.
OF_PAIRED = Limit(30.0, 120)
#: An address that is not paired: several phones behind one, each asking who it is, and refused.
OF_STRANGER = Limit(10.0, 200)
#: The page's own files, of one address: some sixty each time it is opened.
OF_FILES = Limit(40.0, 600)
#: Streams that one phone opens, each with a ticket: a page that loses its link at once tries six
#: times in 13 s, and twelve times are free.
OF_STREAMS = Limit(1.0, 24)
#: Snapshots that one phone asks for: a page without a stream asks once a second.
OF_SNAPSHOTS = Limit(2.0, 60)
#: Connections from one address: several phones behind it may open a page at the same time.
OF_COMING = Limit(50.0, 400)
#: Whatever is asked from one address, of all phones behind it together.
OF_ADDRESS = Limit(200.0, 1000)
#: Attempts to pair from one address: nobody types eight digits faster.
ATTEMPTS_OF_ONE = Limit(0.5, 5)


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
