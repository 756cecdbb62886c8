"""Several acts at once: the first one counts, and none outlives it."""

from __future__ import annotations

import asyncio

import pytest

from pullcall.first_of import first_of


async def gives(what: str) -> str:
    return what


async def fails() -> str:
    raise ValueError("no")


class Endless:
    """An act that ends only when it is cancelled."""

    def __init__(self) -> None:
        self.begun = asyncio.Event()
        self.was_cancelled = False

    async def act(self) -> str:
        self.begun.set()
        try:
            await asyncio.Event().wait()
        finally:
            self.was_cancelled = True
        return "never"


async def test_the_first_gives_what_it_has_and_the_others_are_over_by_then() -> None:
    endless, before = Endless(), asyncio.all_tasks()
    assert await first_of(endless.act(), gives("first")) == "first"
    assert endless.was_cancelled
    assert asyncio.all_tasks() == before


async def test_what_one_of_them_raised_is_raised() -> None:
    endless = Endless()
    with pytest.raises(ValueError, match="no"):
        await first_of(endless.act(), fails())
    assert endless.was_cancelled


async def test_cancelled_itself_it_leaves_none_behind() -> None:
    endless, before = Endless(), asyncio.all_tasks()
    race = asyncio.create_task(first_of(endless.act(), Endless().act()))
    await asyncio.wait_for(endless.begun.wait(), 20)
    race.cancel()
    with pytest.raises(asyncio.CancelledError):
        await race
    assert endless.was_cancelled
    assert asyncio.all_tasks() == before
