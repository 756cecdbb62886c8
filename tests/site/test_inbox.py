"""What waits for the cook, and what becomes of it where the site stops."""

from __future__ import annotations

import asyncio

import pytest

from pullcall.errors import StoppingError
from pullcall.events import Input, Mark, MarkKind
from pullcall.site.inbox import Inbox, Request

TAKEN = Mark(1.0, None, MarkKind.LID_OPEN, "a")


def request() -> Request:
    answer: asyncio.Future[Input] = asyncio.get_running_loop().create_future()
    return Request(lambda t: TAKEN, answer, 0.0)


async def test_whoever_waits_while_the_site_stops_is_told_so() -> None:
    inbox, waits, is_written = Inbox(), request(), request()
    inbox.put(is_written)
    assert inbox.take_all() == [is_written]
    inbox.put(waits)
    inbox.close()
    for one in (waits, is_written):
        with pytest.raises(StoppingError, match="once it is back, look whether this was taken"):
            await one.answer


async def test_an_answer_that_was_given_stays_as_the_site_stops() -> None:
    inbox, taken, gone = Inbox(), request(), request()
    inbox.put(taken)
    inbox.put(gone)
    taken.settle(TAKEN)
    gone.answer.cancel()
    inbox.close()
    assert await taken.answer == TAKEN
    assert gone.answer.cancelled()
