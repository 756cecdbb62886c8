"""A board behind its application, with its feeds running."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator

import pytest

from tests.api.board.board_client import ServedBoard, served_board


@pytest.fixture
async def board() -> AsyncIterator[ServedBoard]:
    served = served_board()
    feeds = asyncio.create_task(served.app.state.feeds.run())
    yield served
    feeds.cancel()
    await asyncio.gather(feeds, return_exceptions=True)
