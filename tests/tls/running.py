"""Something that runs until it is cancelled, for as long as a test needs it."""

from __future__ import annotations

import asyncio
import contextlib
from collections.abc import AsyncIterator, Coroutine
from contextlib import asynccontextmanager
from typing import Any


@asynccontextmanager
async def running(work: Coroutine[Any, Any, None]) -> AsyncIterator[None]:
    """Run ``work`` beside the block; an error of its own comes out."""
    task = asyncio.create_task(work)
    try:
        yield
    finally:
        task.cancel()
        with contextlib.suppress(asyncio.CancelledError):
            await task
