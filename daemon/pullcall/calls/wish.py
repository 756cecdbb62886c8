"""Something that ought to be said now, if the voice is free."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from pullcall.events import CallKind


@dataclass(frozen=True, slots=True)
class Wish:
    """``since`` is when it became due, cook seconds; ``said`` is told the call's id once it is
    said. A wish that is not granted comes again next second, with the words then true.

    ``id`` is an alarm's own; a planned call gets one when it is said.
    """

    call: CallKind
    steaks: tuple[str, ...]
    in_s: float | None
    priority: int
    words: str
    since: float
    said: Callable[[str, float], None]
    id: str = ""
    insistent: bool = False
    #: Only if something urgent is said anyway: its turn comes in a moment.
    can_wait: bool = False
