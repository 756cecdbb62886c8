"""Several acts at once, until the first one is over."""

from __future__ import annotations

import asyncio
from collections.abc import Coroutine
from typing import Any, TypeVar

T = TypeVar("T")


async def first_of(*acts: Coroutine[Any, Any, T]) -> T:
    """What the first of these gives. The others are cancelled, and none is left behind.

    Raises what any of them raised.
    """
    tasks = [asyncio.create_task(act) for act in acts]
    try:
        done, _ = await asyncio.wait(tasks, return_when=asyncio.FIRST_COMPLETED)
    finally:
        for task in tasks:
            task.cancel()
        ends = await asyncio.gather(*tasks, return_exceptions=True)
    for end in ends:
        if isinstance(end, Exception):
            raise end
    return next(task for task in tasks if task in done).result()
