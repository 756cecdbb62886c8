"""Children end with the process that started them, however that one ended."""

from __future__ import annotations

import asyncio
import subprocess
import sys
from asyncio.subprocess import DEVNULL, PIPE
from collections.abc import Callable
from pathlib import Path

import pytest

from pullcall.leash import leashed
from tests.outlets.ears import DEADLINE_S
from tests.process import running
from tests.test_command import is_alive
from tests.tools import require_tool

#: A process that starts a child as the daemon does, tells its id, and then hangs for good.
_PARENT = """
import asyncio, sys
{start}
async def main():
    child = asyncio.create_task(begin())
    await child
asyncio.run(main())
"""
#: It heeds neither its pipes nor a request to end: only being killed ends it.
_DEAF = (
    "import os, signal, sys; signal.signal(signal.SIGTERM, signal.SIG_IGN); "
    "open(sys.argv[1], 'w').write(str(os.getpid()) + ' '); signal.pause(); signal.pause()"
)
_AS_A_PLAYER = """
from pullcall.command import run_command
async def begin():
    await run_command((sys.executable, "-c", sys.argv[1], sys.argv[2]))
"""
_AS_A_BRIDGE = """
from pullcall.bus.child import start
async def begin():
    process = await start((sys.executable, "-c", sys.argv[1], sys.argv[2]))
    await process.wait()
"""


async def eventually(holds: Callable[[], bool]) -> None:
    async with asyncio.timeout(DEADLINE_S):
        while not holds():  # noqa: ASYNC110 - another process has no event for it
            await asyncio.sleep(0.01)


async def with_killed_parent(start: str, told: Path) -> int:
    """The child's id, once its parent was killed while it ran."""
    body = _PARENT.format(start=start)
    async with running(sys.executable, "-c", body, _DEAF, str(told)) as parent:
        await eventually(lambda: told_pid(told) is not None)
        parent.kill()
        await parent.wait()
    pid = told_pid(told)
    assert pid is not None
    return pid


def told_pid(told: Path) -> int | None:
    """The child's id, once it is written whole."""
    text = told.read_text() if told.exists() else ""
    return int(text) if text.endswith(" ") else None


@pytest.mark.parametrize("start", [_AS_A_PLAYER, _AS_A_BRIDGE], ids=["player", "bridge"])
async def test_a_child_that_heeds_nothing_dies_with_a_parent_that_is_killed(
    start: str, tmp_path: Path
) -> None:
    require_tool("setpriv", "util-linux")
    child = await with_killed_parent(start, tmp_path / "pid")
    await eventually(lambda: not is_alive(child))


@pytest.mark.parametrize("module", ["pullcall.bus", "pullcall.sources.mqtt"])
async def test_a_process_beside_the_daemon_ends_when_its_pipe_closes(module: str) -> None:
    """Also where nothing holds it but that pipe."""
    command = (sys.executable, "-m", module)
    async with running(*command, stdin=PIPE, stdout=DEVNULL, stderr=DEVNULL) as process:
        assert process.stdin is not None
        process.stdin.close()
        async with asyncio.timeout(DEADLINE_S):
            await process.wait()


def test_what_is_not_there_or_may_not_be_run_is_an_os_error(tmp_path: Path) -> None:
    plain = tmp_path / "plain"
    plain.write_text("")
    with pytest.raises(FileNotFoundError):
        leashed(("/no/such/command",))
    with pytest.raises(PermissionError):
        leashed((str(plain),))


def test_a_leashed_command_keeps_its_arguments() -> None:
    words = ["-c", "import sys; print(sys.argv[1:])", "--", "a b", "-x"]
    told = subprocess.run(
        leashed((sys.executable, *words)), capture_output=True, text=True, check=True
    )
    assert told.stdout == "['--', 'a b', '-x']\n"
