"""Work that is seen through to its end, whoever is cancelled meanwhile."""

from __future__ import annotations

import asyncio
import contextlib
from collections.abc import Callable, Coroutine
from typing import Any, TypeVar

T = TypeVar("T")


async def seen_through(
    work: Coroutine[Any, Any, T], when_cancelled: Callable[[], object] | None = None
) -> T:
    """What ``work`` gives, or raises.

    Cancelled, however often, it calls ``when_cancelled``, by which the work may be told to end
    soon, and raises only when the work is over: nothing of it is left behind.
    """
    task = asyncio.create_task(work)
    try:
        return await asyncio.shield(task)
    except asyncio.CancelledError:
        if when_cancelled is not None:
            when_cancelled()
        while not task.done():
            with contextlib.suppress(asyncio.CancelledError):
                await asyncio.wait({task})
        if not task.cancelled():
            task.exception()  # nobody is there any more to be told
        raise
