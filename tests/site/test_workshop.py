"""The workshop: one cook after the other, in a process of its own."""

from __future__ import annotations

import asyncio
import os
import signal
import sys
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

import pytest

from pullcall.site.workshop import Workshop

#: Writes its arguments into a file named like the cook, and complains of the cook "spoilt".
_WORK = """
import pathlib, sys
_, log, cook = sys.argv[1:]
pathlib.Path(log).with_name(cook).write_text(log)
if cook == "spoilt":
    sys.exit("its log is torn")
"""
#: Says which process it is, and goes on for ever with all but the cook "quick".
_STUCK = """
import os, pathlib, sys, time
_, log, cook = sys.argv[1:]
pathlib.Path(log).with_name(cook).write_text(str(os.getpid()))
if cook != "quick":
    time.sleep(600)
"""


@asynccontextmanager
async def running(shop: Workshop) -> AsyncIterator[None]:
    task = asyncio.create_task(shop.run())
    try:
        yield
    finally:
        task.cancel()
        await asyncio.gather(task, return_exceptions=True)


def shop_at(tmp_path: Path, done: list[str], work: str = _WORK) -> Workshop:
    return Workshop(tmp_path / "cooks.db", done.append, (sys.executable, "-c", work))


async def test_cooks_are_worked_out_in_the_order_they_were_asked_for(tmp_path: Path) -> None:
    done: list[str] = []
    shop = shop_at(tmp_path, done)
    async with running(shop), asyncio.timeout(60):
        waits = [shop.ask(cook) for cook in ("first", "second", "first")]
        assert shop.is_working("second")
        await asyncio.gather(*waits)
    assert done == ["first", "second"]
    assert not shop.is_working("second")
    assert (tmp_path / "second").read_text() == str(tmp_path / "cooks.db")


async def test_a_cook_that_cannot_be_worked_out_says_why_and_the_next_one_is(
    tmp_path: Path,
) -> None:
    done: list[str] = []
    shop = shop_at(tmp_path, done)
    async with running(shop), asyncio.timeout(60):
        await asyncio.gather(shop.ask("spoilt"), shop.ask("good"))
        assert shop.trouble("spoilt") == "its log is torn"
        assert shop.trouble("good") is None
        (tmp_path / "spoilt").unlink()
        await shop.ask("spoilt")
    assert (tmp_path / "spoilt").exists(), "a cook asked for again is tried again"


async def test_after_a_mistake_it_goes_on_with_the_cooks_that_wait(tmp_path: Path) -> None:
    done: list[str] = []

    def slip_once(cook: str) -> None:
        done.append(cook)
        if cook == "first":
            raise RuntimeError("a mistake")

    shop = Workshop(tmp_path / "cooks.db", slip_once, (sys.executable, "-c", _WORK))
    waits = [shop.ask(cook) for cook in ("first", "second", "third")]
    async with asyncio.timeout(60):
        with pytest.raises(RuntimeError, match="a mistake"):
            await shop.run()
        assert [wait.done() for wait in waits] == [True, False, False]
        async with running(shop):
            await asyncio.gather(*waits)
    assert done == ["first", "second", "third"]


async def test_a_process_that_is_killed_is_a_trouble_and_the_next_cook_is_done(
    tmp_path: Path,
) -> None:
    done: list[str] = []
    shop = shop_at(tmp_path, done, _STUCK)
    async with running(shop), asyncio.timeout(60):
        first, second = shop.ask("first"), shop.ask("quick")
        os.kill(int(await _begun(tmp_path / "first")), signal.SIGKILL)
        await asyncio.gather(first, second)
    assert done == ["first", "quick"]
    assert shop.trouble("first") == "it ended with -9"
    assert shop.trouble("quick") is None


async def test_a_command_that_is_not_there_is_a_trouble_and_no_end(tmp_path: Path) -> None:
    shop = Workshop(tmp_path / "cooks.db", lambda cook: None, ("/no/such/command",))
    async with running(shop), asyncio.timeout(60):
        await shop.ask("any")
        assert "no process could be started" in (shop.trouble("any") or "")


async def test_stopping_leaves_no_process_behind(tmp_path: Path) -> None:
    shop = shop_at(tmp_path, [], _STUCK)
    async with running(shop), asyncio.timeout(60):
        shop.ask("slow")
        child = await _begun(tmp_path / "slow")
    assert not _lives(child)


async def test_a_cook_that_is_dropped_is_let_go_and_the_next_one_is_done(tmp_path: Path) -> None:
    done: list[str] = []
    shop = shop_at(tmp_path, done, _STUCK)
    async with running(shop), asyncio.timeout(60):
        slow, queued, last = (shop.ask(cook) for cook in ("slow", "queued", "quick"))
        child = await _begun(tmp_path / "slow")
        await shop.drop("queued")
        assert queued.done() and shop.is_working("slow")
        await shop.drop("slow")
        assert slow.done() and not _lives(child)
        assert not shop.is_working("slow") and shop.trouble("slow") is None
        await last
    assert not (tmp_path / "queued").exists()
    assert "queued" not in done and done[-1] == "quick"


async def test_a_cook_nobody_asked_for_is_dropped_too(tmp_path: Path) -> None:
    shop = shop_at(tmp_path, [])
    await shop.drop("any")
    assert shop.count == 0


async def test_an_id_that_looks_like_an_option_is_an_id(tmp_path: Path) -> None:
    shop = Workshop(tmp_path / "none.db", lambda cook: None)
    async with running(shop), asyncio.timeout(60):
        await shop.ask("-h")
        assert shop.trouble("-h") is not None, "help would have ended well"


async def _begun(path: Path) -> str:
    """The process that works at the cook ``path`` is named like."""
    while not (child := _written(path)):  # noqa: ASYNC110 - a process says it
        await asyncio.sleep(0.02)
    return child


def _written(path: Path) -> str:
    return path.read_text() if path.exists() else ""


def _lives(process: str) -> bool:
    return Path(f"/proc/{process}").exists()
