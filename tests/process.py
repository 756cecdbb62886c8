"""A process for a test, of which nothing is left when the test is over."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from typing import Any

from pullcall.child_process import ChildProcess, spawn


@asynccontextmanager
async def running(*command: str, **how: Any) -> AsyncIterator[ChildProcess]:
    """``command`` for a block's length; it is killed then, unless it has ended, and collected.

    A transport that is left open is told of by asyncio long after, in the middle of another test.
    """
    process = await spawn(command, **how)
    try:
        yield process
    finally:
        await process.end()
