"""The process: what ends it, with which words and code, and that it always does."""

from __future__ import annotations

import asyncio
import signal
import sys
from asyncio.subprocess import PIPE, Process
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

import pytest

from tests.fake_manager import managed
from tests.outlets.ears import DEADLINE_S
from tests.process import running

#: A process that serves something whose calls and close are as a test wants them.
_PROCESS = """
import asyncio, logging, sys, threading
from datetime import UTC, datetime
from pullcall import app
from pullcall.clock import RealClock, RecordedClock
from pullcall.errors import LogError
from pullcall.supervision import Edges, Part

class Served:
    def __init__(self):
        self.edges = Edges(RealClock())
        self.clock = RecordedClock(datetime(2026, 6, 13, tzinfo=UTC))
        self.outlets = Edges(self.clock)
    def troubles(self):
        return self.outlets.troubles()
    async def run(self):
        {run}
    def close(self):
        {close}

async def broken():
    print("broken", flush=True)
    raise ValueError("no")

logging.basicConfig(format="%(message)s", level=logging.INFO)
app._SHUT_DOWN_S = {deadline}
app._BEAT_S = 0.01
def ready():
    print("ready", flush=True)
    return "Serving."
try:
    asyncio.run(app.serve(Served(), [], ready, Part("broken", broken)))
except app.CallsEndedError as error:
    sys.exit(f"pullcall: {{error}}")
"""
_FOR_EVER = "await asyncio.Event().wait()"
_DEAF = """
        while True:
            try:
                await asyncio.Event().wait()
            except asyncio.CancelledError:
                print("asked", flush=True)
"""
#: An outlet slips and a minute passes, each when a line comes.
_SLIP = """
        await asyncio.to_thread(sys.stdin.readline)
        self.outlets.edge("loudspeaker").guard(lambda: 1 / 0)
        await asyncio.to_thread(sys.stdin.readline)
        self.clock.advance_to(self.clock.monotonic() + 61.0)
        await asyncio.Event().wait()
"""
_STUCK = """
        print("closing", flush=True)
        threading.Event().wait()
"""


@asynccontextmanager
async def serving(
    run: str = _FOR_EVER, close: str = "pass", deadline: float = 60.0
) -> AsyncIterator[Process]:
    body = _PROCESS.format(run=run, close=close, deadline=deadline)
    command = (sys.executable, "-c", body)
    async with (
        running(*command, stdin=PIPE, stdout=PIPE, stderr=PIPE) as process,
        asyncio.timeout(DEADLINE_S),
    ):
        yield process


async def said(process: Process, word: str) -> None:
    assert process.stdout is not None
    while word not in (line := (await process.stdout.readline()).decode()):
        assert line, "it ended"


async def complaint(process: Process) -> str:
    assert process.stderr is not None
    return (await process.stderr.read()).decode()


async def test_a_part_that_fails_again_and_again_does_not_end_it_and_a_signal_does() -> None:
    async with serving() as process:
        await said(process, "ready")
        await said(process, "broken")
        await said(process, "broken")
        process.terminate()
        assert "Stopping." in (await complaint(process)).splitlines()
        assert await process.wait() == 0


async def test_the_service_manager_shows_what_does_not_go_for_as_long_as_it_does_not(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Also of what has edges of its own, and of a mistake that nothing came after."""
    slip = 'STATUS=The part "loudspeaker" made a mistake (ZeroDivisionError): start Pullcall again '
    with managed(monkeypatch, tmp_path / "notify") as manager:
        async with serving(run=_SLIP) as process:
            assert process.stdin is not None
            assert "STATUS=Serving." in await asyncio.to_thread(manager.until, "READY=1", 20)
            for shown in (f"{slip}if this stays. Serving.", "STATUS=Serving."):
                process.stdin.write(b"\n")
                await asyncio.to_thread(manager.until, shown, 20)


@pytest.mark.parametrize(
    ("raised", "told"),
    [
        ('ValueError("no")', "were stopped by a mistake (ValueError): start Pullcall again"),
        ('LogError("Give the disk room.")', "pullcall: Give the disk room."),
    ],
)
async def test_calls_that_fail_end_it_with_a_code_and_what_to_do(raised: str, told: str) -> None:
    async with serving(run=f"raise ExceptionGroup('g', [{raised}])") as process:
        words = await complaint(process)
        assert await process.wait() == 1
        assert told in words
        assert "Traceback" in words, "the journal has where it came from"


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
async def test_a_second_signal_ends_a_shutdown_that_is_stuck(number: signal.Signals) -> None:
    async with serving(run=_DEAF) as process:
        await said(process, "ready")
        process.send_signal(number)
        await said(process, "asked")
        process.send_signal(number)
        assert await process.wait() == -number


async def test_a_second_signal_ends_even_a_thread_that_blocks_the_loop() -> None:
    async with serving(close=_STUCK) as process:
        await said(process, "ready")
        process.terminate()
        await said(process, "closing")
        process.terminate()
        assert await process.wait() == -signal.SIGTERM


@pytest.mark.parametrize("stuck", [{"run": _DEAF}, {"close": _STUCK}], ids=["task", "thread"])
async def test_a_shutdown_that_hangs_has_an_end_of_its_own(stuck: dict[str, str]) -> None:
    async with serving(deadline=0.2, **stuck) as process:
        await said(process, "ready")
        process.terminate()
        words = await complaint(process)
        assert await process.wait() == 1
        assert "did not stop within" in words
        assert "most recent call first" in words, "the journal has where each thread stood"
