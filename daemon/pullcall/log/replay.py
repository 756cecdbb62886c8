"""A logged cook through the same core as life, as fast as it goes."""

from __future__ import annotations

from collections.abc import Iterator

from pullcall.core.cook import Cook, Effect
from pullcall.log.cook_file import CookFile


def replay(recorded: CookFile) -> Iterator[Effect]:
    """Every forecast and call of a recorded cook, in order, up to its last record."""
    cook = Cook(recorded.header)
    last = 0.0
    for event in recorded.inputs:
        yield from cook.apply(event)
        last = max(last, event.t)
    yield from cook.advance(last)
