"""A process that was ended is collected whole, whatever it wrote, left behind or was asked for."""

from __future__ import annotations

import asyncio
import os
import signal
import sys
from asyncio.subprocess import PIPE

import pytest

from pullcall.child_process import ChildProcess, spawn
from tests.outlets.ears import DEADLINE_S

_WAITS = "import signal; print('here', flush=True); signal.pause()"
#: Writes on and on; nobody reads, so its pipe is full.
_FLOODS = "print('here', flush=True)\nwhile True: print('x' * 1000)"
#: Leaves a process in a group of its own, which keeps the pipe, and tells its id.
_LEAVES_ONE = """
import subprocess, sys, signal
body = "import signal; signal.pause()"
left = subprocess.Popen([sys.executable, "-c", body], start_new_session=True)
print(left.pid, flush=True)
signal.pause()
"""


async def begun(body: str) -> tuple[ChildProcess, bytes]:
    """Such a process, and the first that it said."""
    process = await spawn((sys.executable, "-c", body), stdin=PIPE, stdout=PIPE)
    assert process.stdout is not None
    return process, await process.stdout.readline()


async def is_let_go(process: ChildProcess) -> bool:
    """Whether nothing of it is left: no process, and no pipe on this side."""
    with pytest.raises(ProcessLookupError):
        os.kill(process.pid, 0)
    await asyncio.sleep(0)  # the pipes' own goodbye
    assert process.stdin is not None and process.stdout is not None
    return process.stdin.is_closing() and process.stdout.at_eof()


@pytest.mark.parametrize("body", [_WAITS, _FLOODS], ids=["quiet", "a flood that nobody reads"])
async def test_a_process_that_was_ended_leaves_nothing(body: str) -> None:
    process, _ = await begun(body)
    async with asyncio.timeout(DEADLINE_S):
        await process.end()
    assert process.returncode == -signal.SIGKILL
    assert await is_let_go(process)
    await process.end()  # once more is nothing more


@pytest.mark.parametrize("steps", range(4))
async def test_who_ends_it_is_cancelled_only_once_it_is_collected(steps: int) -> None:
    process, _ = await begun(_WAITS)
    task = asyncio.create_task(process.end())
    await asyncio.sleep(0)
    for _ in range(steps):
        await asyncio.sleep(0)
    for _ in range(2):
        task.cancel()
        await asyncio.sleep(0)
    with pytest.raises(asyncio.CancelledError):
        await task
    assert process.returncode == -signal.SIGKILL
    assert await is_let_go(process)


async def test_what_left_its_group_and_holds_its_pipe_keeps_nobody_waiting() -> None:
    process, told = await begun(_LEAVES_ONE)
    try:
        async with asyncio.timeout(DEADLINE_S):
            await process.end()
        assert process.returncode == -signal.SIGKILL
        os.kill(int(told), 0)  # it is still there, with the other end of the pipe
    finally:
        os.kill(int(told), signal.SIGKILL)
    assert await is_let_go(process)


async def test_a_command_that_is_not_there_is_an_os_error() -> None:
    with pytest.raises(FileNotFoundError):
        await spawn(("/no/such/command",))
