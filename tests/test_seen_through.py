"""Work that was begun is over when its caller goes on, however often that is cancelled."""

from __future__ import annotations

import asyncio

import pytest

from pullcall.seen_through import seen_through


async def test_what_work_gives_or_raises_passes_through() -> None:
    async def seven() -> int:
        return 7

    async def fails() -> None:
        raise KeyError("no")

    assert await seen_through(seven()) == 7
    with pytest.raises(KeyError, match="no"):
        await seen_through(fails())


@pytest.mark.parametrize("fails", [False, True], ids=["that succeeds", "that fails"])
async def test_cancelled_again_and_again_it_waits_for_work(fails: bool) -> None:
    begun, told, may_end = asyncio.Event(), asyncio.Event(), asyncio.Event()
    over: list[str] = []

    async def work() -> None:
        begun.set()
        await may_end.wait()
        over.append("over")
        if fails:
            raise KeyError("no")

    task = asyncio.create_task(seen_through(work(), told.set))
    await begun.wait()
    for _ in range(3):
        task.cancel()
        await asyncio.sleep(0)
    await told.wait()
    assert not task.done()
    may_end.set()
    with pytest.raises(asyncio.CancelledError):
        await task
    assert over == ["over"]
