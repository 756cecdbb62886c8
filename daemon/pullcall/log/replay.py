"""A logged cook through the same core as life, as fast as it goes."""

from __future__ import annotations

from collections.abc import Iterator

from pullcall.core.cook import Effect
from pullcall.core.failure import begin, run, take
from pullcall.log.cook_file import CookFile
from pullcall.log.workable import worked_out


def replay(recorded: CookFile) -> Iterator[Effect]:
    """Every forecast and call of a recorded cook, in order, up to its last record.

    Raises UnworkableError where the core fails at it, whatever is left out.
    """
    return iter(replayed(recorded)[0])


def replayed(recorded: CookFile) -> tuple[list[Effect], CookFile]:
    """The same, and the cook as it was taken: without what the core fails at."""
    return worked_out(recorded, _effects)


def _effects(recorded: CookFile) -> list[Effect]:
    core = begin(recorded.header)
    last, out = 0.0, list[Effect]()
    for event in recorded.inputs:
        out += take(core, event)
        last = max(last, event.t)
    return out + run(core, last)
