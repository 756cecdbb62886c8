"""The chance to hand in inside the window: many days run at once, always the same ones."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from pullcall.events import Quantiles
from pullcall.plan.chain import Chain
from pullcall.plan.day import Day, Key, keys
from pullcall.plan.lengths import Seconds, Shares, lengths
from pullcall.plan.progress import Progress

#: The standard error of a chance of 90 % is then 0.7 %.
SAMPLES = 2000
SEED = 1
#: The chance that a slack or a last moment leaves.
SURE = 0.9


@lru_cache(maxsize=8)
def shares(names: tuple[str, ...]) -> Shares:
    """The same days for every call, so that two chances differ by what changed alone."""
    order = keys(names)
    drawn = np.random.default_rng(SEED).random((len(order), SAMPLES))
    drawn.setflags(write=False)
    return Shares.make(dict(zip(order, drawn, strict=True)))


@dataclass(frozen=True, slots=True)
class Samples:
    """The days that may follow from where one stands at ``now``; ``past`` is settled."""

    day: Day
    past: Progress
    now: float
    takes_s: Mapping[Key, Seconds]

    @classmethod
    def draw(cls, day: Day, past: Progress, now: float) -> Samples:
        """All of them, lengths less what has passed."""
        return cls(day, past, now, lengths(day, past, now, shares(day.names())))

    def run(self, not_before: Mapping[Key, float] | None = None, wait_s: float = 0.0) -> Chain:
        """Every step as soon as it can be, from ``wait_s`` later on."""
        soonest = np.full(SAMPLES, self.now + wait_s)
        return Chain(self.day, self.past, self.takes_s, soonest, not_before or {}).run()

    def with_shortest_rest(self) -> Samples:
        """The same days with every rest as short as it may be, or has become."""
        rests: list[Key] = [("rest", name) for name in self.day.names()]
        none = Shares.make(dict.fromkeys(rests, np.zeros(SAMPLES)))
        shortest = lengths(self.day, self.past, self.now, none)
        return replace(self, takes_s={**self.takes_s, **shortest})


def share_by(moments: Seconds, closes_t: float) -> float:
    """The share of moments not after ``closes_t``."""
    return float(np.count_nonzero(moments <= closes_t)) / len(moments)


def sure_by(moments: Seconds) -> float:
    """The moment that :data:`SURE` of them do not pass, in step with :func:`share_by`."""
    rank = int(np.ceil(SURE * len(moments))) - 1
    return float(np.partition(moments, rank)[rank])


def quantiles(values: Seconds) -> Quantiles:
    """p10, p50 and p90 of samples."""
    ranks = [int(share * (len(values) - 1)) for share in (0.1, 0.5, 0.9)]
    sorted_ = np.partition(values, ranks)
    return Quantiles(*(float(sorted_[rank]) for rank in ranks))
