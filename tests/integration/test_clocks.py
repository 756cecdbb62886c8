"""A daemon whose machine's clock is set, and one that stood still, as real processes."""

from __future__ import annotations

import asyncio
import json
import os
import signal
import subprocess
import time
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager, suppress
from pathlib import Path

import pytest
import websockets
from websockets.exceptions import ConnectionClosedError

from tests.integration.daemon import Daemon, Message, daemon, free_port
from tests.tools import lacking, require_tool

pytestmark = pytest.mark.integration

SPEED = 20.0
#: Real seconds without a sign of life, as of a suspended machine; CLOCKS_STOP_S sets another.
STOPPED_S = float(os.environ.get("CLOCKS_STOP_S", "7"))
#: Calls that come later are not told any more, real seconds (``pullcall.site.announcer.LATE_S``); a
#: busy machine takes some more.
LATEST_S = 3.5


class FakedClock:
    """Moves the time of day of a process, and nothing else of its clocks."""

    def __init__(self, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        require_tool("faketime", "faketime")
        self._file = folder / "faked"
        self.set_to(0.0)
        for name, value in {
            "LD_PRELOAD": library(),
            "FAKETIME_TIMESTAMP_FILE": str(self._file),
            "FAKETIME_NO_CACHE": "1",
            "DONT_FAKE_MONOTONIC": "1",
        }.items():
            monkeypatch.setenv(name, value)

    def set_to(self, wall: float) -> None:
        """Let it be ``wall`` seconds since 1970."""
        new = self._file.with_suffix(".new")
        new.write_text(f"{wall - time.time():+.0f}\n")
        new.replace(self._file)


def library() -> str:
    """Where Debian keeps the library that the program ``faketime`` preloads."""
    listed = ["dpkg", "-L", "libfaketime"]
    asked = subprocess.run(listed, check=False, capture_output=True, text=True)
    found = [line for line in asked.stdout.splitlines() if line.endswith("/libfaketime.so.1")]
    if not found:
        lacking("libfaketime is missing; install it with: apt install faketime")
    return found[0]


async def until(site: Daemon, holds: Callable[[Message], bool]) -> Message:
    async with asyncio.timeout(60):
        while not holds(shown := await site.snapshot()):  # noqa: ASYNC110 - it is asked
            await asyncio.sleep(0.2)
    return shown


def clock_is_ok(shown: Message) -> bool:
    return all(check["ok"] for check in shown["readiness"] if check["name"] == "clock")


async def test_a_daemon_started_in_1970_follows_a_clock_that_is_set_and_moves_no_due_time(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    clock = FakedClock(tmp_path, monkeypatch)
    log = str(tmp_path / "cooks.db")
    arguments = ("serve", "--log", log, "--window", "14:00-14:30")
    async with daemon(*arguments, port=free_port()) as site:
        await site.post("marks", mark="on")
        before = await until(site, lambda shown: not clock_is_ok(shown))
        assert before["cook"]["id"].startswith("1970")
        assert before["cook"]["window"]["opens"].startswith("1970")
        for ahead_s in (0.0, 3600.0):
            now = time.time() + ahead_s
            clock.set_to(now)
            day = time.strftime("%Y-%m-%dT%H", time.gmtime(now))
            after = await until(site, lambda shown, day=day: shown["wall"].startswith(day))  # type: ignore[misc]
            assert after["steaks"][0]["next"] == before["steaks"][0]["next"]
            assert after["steaks"][0]["on_t"] == before["steaks"][0]["on_t"]
            assert 0.0 <= after["t"] - before["t"] < 120.0
        opens_s = after["cook"]["window_t"][0] - after["t"]
        assert -5400.0 <= opens_s <= 86400.0


async def test_what_fell_into_a_time_without_a_sign_of_life_is_told_as_it_stands_then(
    tmp_path: Path,
) -> None:
    arguments = ("demo", "--speed", f"{SPEED:g}", "--log", str(tmp_path / "cooks.db"))
    async with daemon(*arguments, port=free_port()) as site, listening(site) as heard:
        lead = await heard_of(heard, lambda m: m["type"] == "call" and m["call"] == "pull_soon")
        (steak,) = lead["steaks"]
        site.process.send_signal(signal.SIGSTOP)
        await asyncio.sleep(STOPPED_S)
        stopped_t = max(m["t"] for m in heard if m["type"] == "tick") + SPEED  # one each second
        heard.clear()
        site.process.send_signal(signal.SIGCONT)
        await heard_of(heard, lambda m: is_off(m, steak))
    told = [m for m in heard if m["type"] == "call"]
    until_t = stopped_t + (STOPPED_S - 1.0 - LATEST_S) * SPEED
    assert [m for m in told if stopped_t < m["t"] < until_t] == []
    assert {m["call"] for m in told if steak in m["steaks"]} & {"pull_now", "over"}


@asynccontextmanager
async def listening(site: Daemon) -> AsyncIterator[list[Message]]:
    """What a page hears for a block's length; let go, it comes back, as pages do."""
    heard: list[Message] = []

    async def listen() -> None:
        while True:
            with suppress(ConnectionClosedError):
                async with websockets.connect(site.stream) as socket:
                    async for line in socket:
                        heard.append(json.loads(line))  # noqa: PERF401 - it is read meanwhile

    task = asyncio.create_task(listen())
    try:
        yield heard
    finally:
        task.cancel()
        await asyncio.gather(task, return_exceptions=True)


async def heard_of(heard: list[Message], wanted: Callable[[Message], bool]) -> Message:
    async with asyncio.timeout(120):
        while not any(map(wanted, heard)):  # noqa: ASYNC110 - a list has no event
            await asyncio.sleep(0.05)
    return next(filter(wanted, heard))


def is_off(message: Message, steak: str) -> bool:
    """Whether this steak came off, as the simulated cook obeys what it hears."""
    if message["type"] == "snapshot":
        return any(s["steak"] == steak and s["off_t"] is not None for s in message["steaks"])
    is_mark = message["type"] == "mark" and message["mark"] == "off"
    return is_mark and message["steak"] in (steak, None)
