"""The inputs of a cook that still matter, kept so that a mark can be undone or back-dated."""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Iterator

from pullcall.events import Input, Mark, Reading, Setting, Spot, Undo

#: Readings kept before the first steak is on: five minutes of two probes at 2 Hz.
_BEFORE_ON = 1200


class History:
    """Readings of before the first ``on`` are bounded; from then on everything is kept."""

    def __init__(self) -> None:
        self._early: deque[Reading] = deque(maxlen=_BEFORE_ON)
        self._kept: list[Input] = []
        self._undone: set[str] = set()
        self._anything_on = False

    def add(self, event: Input) -> None:
        """Keep one input."""
        if isinstance(event, Undo):
            self._undone.add(event.id)
        elif isinstance(event, Reading) and not self._anything_on:
            self._early.append(event)
        elif isinstance(event, Reading | Spot | Mark | Setting):
            self._anything_on = self._anything_on or isinstance(event, Mark)
            self._kept.append(event)

    def standing(self, from_t: float = -math.inf) -> Iterator[Input]:
        """What stands from ``from_t`` on, in the order it happened; undone inputs are left out.

        A reading at ``from_t`` itself came before whatever else happened then.
        """
        standing = [
            e
            for e in (*self._early, *self._kept)
            if not self._is_undone(e)
            and (_happened(e) > from_t or (_happened(e) == from_t and not isinstance(e, Reading)))
        ]
        return iter(sorted(standing, key=_happened))

    def happened(self, id: str) -> float:
        """When the mark or spot of this id happened; minus infinity for an unknown one."""
        return next(
            (_happened(e) for e in self._kept if isinstance(e, Mark | Spot) and e.id == id),
            -math.inf,
        )

    def marks(self) -> tuple[Mark, ...]:
        """Every standing mark, in the order it happened."""
        return tuple(e for e in self.standing() if isinstance(e, Mark))

    def spots(self) -> tuple[Spot, ...]:
        """Every standing spot."""
        return tuple(e for e in self._kept if isinstance(e, Spot) and not self._is_undone(e))

    def can_undo(self, id: str) -> bool:
        """Whether this id names a mark or spot that stands."""
        return any(
            isinstance(e, Mark | Spot) and e.id == id and not self._is_undone(e) for e in self._kept
        )

    def _is_undone(self, event: Input) -> bool:
        return isinstance(event, Mark | Spot) and bool(event.id) and event.id in self._undone


def _happened(event: Input) -> float:
    return event.happened if isinstance(event, Mark) else event.t
