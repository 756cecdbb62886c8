"""A site that runs for a block's length."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

from pullcall.site.live import Site


@asynccontextmanager
async def at_work(site: Site) -> AsyncIterator[asyncio.Task[None]]:
    """Run it in a task, which is what the block gets; then end it and close the site."""
    task = asyncio.create_task(site.run())
    try:
        yield task
    finally:
        task.cancel()
        await asyncio.gather(task, return_exceptions=True)
        site.close()
