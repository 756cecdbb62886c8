"""Which inputs a cook has to do without, where the core fails at what was logged.

Whatever is suspected is tried: a fresh core goes through the cook without it. Which ways there are,
and why in this order, is told in docs/reliability/unworkable.md.
"""

from __future__ import annotations

import copyreg
from collections.abc import Callable, Iterable, Iterator, Sequence
from copy import deepcopy
from dataclasses import dataclass
from types import MappingProxyType
from typing import TypeVar, get_args

from pullcall.core.cook import Cook
from pullcall.core.failure import CoreFailedError, begin, run, take
from pullcall.core.omission import Kinds, Omission, Span, without
from pullcall.errors import UnworkableError
from pullcall.events import (
    Acknowledgement,
    CookHeader,
    End,
    Input,
    Mark,
    Reached,
    Setting,
    Shelving,
    Spot,
    Undo,
)

T = TypeVar("T")
What = Input | Span

#: A cook is past a failure once it went on for so long, seconds ...
_PAST_S = 60.0
#: ... and took so many inputs more; before that another failure is of the same trouble.
_PAST_INPUTS = 30
#: Inputs right before it, and inputs by people, that are suspected one by one.
_NEAREST, _BY_PEOPLE = 4, 3
#: A core that is copied for each trial stands so long before the failure, seconds.
_NEAR_S = 61.0
#: Everything but marks and settings is suspected of so many seconds before it.
_PARTS_S = (10.0, 60.0, 600.0)
#: One by one so often in one trouble, then parts of the cook once, the input itself, all of it.
_ROUNDS_SINGLY, _ROUNDS_OF_ITSELF, _ROUNDS = 4, 12, 16
#: One start leaves out no more than this: something else is wrong then.
_MOST = 64

#: Without these there would be nothing to call.
_MARKS: Kinds = (Mark,)
_SETTINGS: Kinds = (Setting,)
#: They say how far the clock had come, and change nothing.
_BARE: Kinds = (Reached, End)
_TYPED_IN: Kinds = (Spot, Setting, Undo, Acknowledgement, Shelving)

# Without this a core could not be copied: a view of a mapping is copied as a view of a copy.
copyreg.pickle(MappingProxyType, lambda view: (MappingProxyType, (dict(view),)))


def gone_through(
    header: CookHeader,
    inputs: Sequence[Input],
    until: Callable[[], float],
    known: Sequence[Omission],
    attempt: Callable[[tuple[Input, ...]], T],
) -> tuple[T, tuple[Omission, ...]]:
    """What ``attempt`` gives of the inputs at which no core fails, and what was left out for it.

    ``attempt`` goes through the inputs with a fresh core, and runs it up to ``until()``, cook
    seconds, or a little further; ``known`` was left out of ``inputs`` before. Raises
    UnworkableError where nothing helps.
    """
    found: tuple[Omission, ...] = ()
    while True:
        left = without(inputs, found)
        try:
            return attempt(left), found
        except CoreFailedError as failure:
            inquiry = Inquiry(header, left, until(), failure, (*known, *found))
            blamed = inquiry.blamed() if len(found) < _MOST else None
            if blamed is None:
                raise UnworkableError(
                    f"The cook {header.cook} cannot be worked out: the calls fail at "
                    f"{failure.t:g} s of it ({failure.why}), whatever is left out. Report the "
                    f"mistake with an export of it."
                ) from failure
            found += (Omission(failure.t, blamed, failure.t, failure.why),)


@dataclass(frozen=True, slots=True)
class _Scene:
    """Inputs in time order, of which those up to ``until_t`` are suspected."""

    inputs: tuple[Input, ...]
    until_t: float
    spared: Input | None

    def with_(self, blamed: Sequence[Input]) -> _Scene:
        """The same with these back; suspected is what came before the first of them."""
        if not blamed:
            return self
        inputs = sorted((*blamed, *self.inputs), key=lambda event: event.t)
        return _Scene(tuple(inputs), min(event.t for event in blamed), None)

    def before(self) -> list[Input]:
        """The suspected ones."""
        return [
            one
            for one in self.inputs
            if one.t <= self.until_t and one is not self.spared and not isinstance(one, _BARE)
        ]

    def nearest(self) -> list[Input]:
        """The last ones, the latest first."""
        return self.before()[-_NEAREST:][::-1]

    def typed_in(self) -> list[Input]:
        """What people gave last, but for marks, the latest first."""
        given = [event for event in self.before() if isinstance(event, _TYPED_IN)]
        return given[-_BY_PEOPLE:][::-1]

    def parts(self) -> list[Span]:
        """Everything but marks and settings, longer and longer before it."""
        before = self.before()
        until = before[-1].t if before else self.until_t
        kinds = _all_but(_MARKS, _SETTINGS)
        return [Span(kinds, self.until_t - span_s, until) for span_s in _PARTS_S]


class Inquiry:
    """Into one failure. ``inputs`` are those at which the core failed, in time order; what was
    left out before, of the whole cook, is in ``known``."""

    def __init__(
        self,
        header: CookHeader,
        inputs: tuple[Input, ...],
        until: float,
        failure: CoreFailedError,
        known: Sequence[Omission],
    ) -> None:
        self._header = header
        self._until = until
        self._failure_t = failure.t
        #: What was being taken, if it was one of them.
        self._event = next((one for one in inputs if one is failure.event), None)
        trouble = _same_trouble(known, inputs, failure.t)
        self._rounds = len({omission.failed_t for omission in trouble})
        self._stands = _Scene(inputs, failure.t, self._event)
        blamed = [omission.what for omission in trouble if not isinstance(omission.what, Span)]
        #: What was blamed before is back in these: who is really to blame is so to be seen.
        self._first, self._last = self._stands.with_(blamed), self._stands.with_(blamed[:1])
        self._ahead: tuple[tuple[Input, ...], Cook] | None = None

    def blamed(self) -> What | None:
        """The first suspect without which the core gets past the failure. The input itself goes
        untried: without it whatever comes next is another failure."""
        if self._rounds == 0 and self._event is not None:
            return self._event
        found = self._first_past(self._suspects())
        if found is None and self._rounds < _ROUNDS_OF_ITSELF:
            found = self._event
        if found is None and self._rounds < _ROUNDS:
            found = self._first_past((span, self._stands) for span in self._wholes())
        return found

    def _suspects(self) -> Iterator[tuple[What, _Scene]]:
        """One by one, then parts of the cook."""
        is_second = self._event is None
        if self._rounds < _ROUNDS_SINGLY:
            for scene in dict.fromkeys((self._first, self._last, self._stands)):
                yield from ((one, scene) for one in scene.nearest())
        if self._rounds == _ROUNDS_SINGLY or is_second:
            for scene in dict.fromkeys((self._first, self._stands)):
                yield from ((one, scene) for one in scene.typed_in())
                yield from ((span, scene) for span in scene.parts())

    def _wholes(self) -> Iterator[Span]:
        """All of the cook so far but for marks and settings, then all but for marks; the same with
        what came soon after, too."""
        times = [event.t for event in self._stands.inputs] or [0.0]
        soon = max(self._failure_t, min(times[-1], self._failure_t + _PAST_S))
        for kept in ((_MARKS, _SETTINGS), (_MARKS,)):
            yield Span(_all_but(*kept), times[0], self._failure_t)
            yield Span(_all_but(*kept), times[0], soon)

    def _first_past(self, suspects: Iterable[tuple[What, _Scene]]) -> What | None:
        return next((what for what, scene in suspects if self._gets_past(what, scene.inputs)), None)

    def _gets_past(self, what: What, inputs: tuple[Input, ...]) -> bool:
        left = without(inputs, [Omission(0.0, what, 0.0, "")])
        if len(left) == len(inputs):
            return False
        try:
            core, taken = self._core_for(left)
            for event in left[taken:]:
                take(core, event)
            run(core, self._until)
        except CoreFailedError as again:
            return not _are_near(self._failure_t, again.t, left)
        return True

    def _core_for(self, inputs: tuple[Input, ...]) -> tuple[Cook, int]:
        """A core that went through the first inputs, and how many: one that is copied serves for
        all that differ only near the failure."""
        if self._ahead is None:
            near_t = self._first.until_t - _NEAR_S
            ahead = tuple(event for event in self._first.inputs if event.t < near_t)
            self._ahead = ahead, _led(self._header, ahead)
        ahead, core = self._ahead
        if inputs[: len(ahead)] == ahead:
            return deepcopy(core), len(ahead)
        return begin(self._header), 0


def _led(header: CookHeader, inputs: tuple[Input, ...]) -> Cook:
    core = begin(header)
    for event in inputs:
        take(core, event)
    return core


def _same_trouble(
    known: Sequence[Omission], inputs: Sequence[Input], failure_t: float
) -> list[Omission]:
    """What was left out of late, and did not help for long."""
    found: list[Omission] = []
    since_t = failure_t
    for omission in sorted(known, key=lambda omission: omission.failed_t, reverse=True):
        if not _are_near(omission.failed_t, since_t, inputs):
            break
        found.append(omission)
        since_t = omission.failed_t
    return found


def _are_near(t: float, later_t: float, inputs: Sequence[Input]) -> bool:
    """Whether so little lies between two failures that they are of one trouble."""
    between = sum(t < event.t <= later_t for event in inputs)
    return later_t - t < _PAST_S or between < _PAST_INPUTS


def _all_but(*kept: Kinds) -> Kinds:
    spared = {kind for kinds in (*kept, _BARE) for kind in kinds}
    return tuple(kind for kind in get_args(Input) if kind not in spared)
