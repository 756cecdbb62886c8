"""A recorded cook at which no core fails: what one fails at is left out, as a live site does."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TypeVar

from pullcall.core.inquiry import gone_through
from pullcall.events import Input
from pullcall.log.cook_file import CookFile

T = TypeVar("T")


def worked_out(recorded: CookFile, work: Callable[[CookFile], T]) -> tuple[T, CookFile]:
    """What ``work`` makes of a cook in one pass of a fresh core, and the cook as it was taken.

    ``work`` is begun again where the core fails. Raises UnworkableError where nothing helps.
    """

    def attempt(inputs: tuple[Input, ...]) -> tuple[T, CookFile]:
        cook = replace(recorded, inputs=inputs)
        return work(cook), cook

    (made, cook), found = gone_through(
        recorded.header, recorded.inputs, lambda: recorded.ends_t, recorded.omissions, attempt
    )
    return made, replace(cook, omissions=(*recorded.omissions, *found))
