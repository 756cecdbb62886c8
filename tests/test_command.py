"""Commands that end, fail or are cancelled; none of them outlives its caller."""

from __future__ import annotations

import asyncio
import sys
from pathlib import Path

import pytest

from pullcall.command import run_command
from tests.outlets.ears import until


def python(body: str) -> tuple[str, ...]:
    return (sys.executable, "-c", body)


def is_alive(pid: int) -> bool:
    """Whether a process runs (one that ended and was not collected does not)."""
    try:
        state = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0]
    except FileNotFoundError:
        return False
    return state != "Z"


async def test_what_is_given_output_complaint_and_code_pass_through() -> None:
    body = (
        "import sys\nprint(sys.stdin.read().upper(), end='')\n"
        "print('first', file=sys.stderr)\nsys.exit('the last line')"
    )
    ended = await run_command(python(body), b"given")
    assert (ended.code, ended.output, ended.complaint) == (1, b"GIVEN", "the last line")


async def test_a_command_that_reads_nothing_ends_all_the_same() -> None:
    ended = await run_command(python("pass"), b"x" * 1_000_000)
    assert (ended.code, ended.output, ended.complaint) == (0, b"", "")


async def test_a_command_that_is_not_there_is_an_os_error() -> None:
    with pytest.raises(FileNotFoundError):
        await run_command(("/no/such/command",))


async def test_cancelling_ends_the_command_and_its_children(tmp_path: Path) -> None:
    marker = tmp_path / "pids"
    body = (
        "import os, subprocess, sys, signal\n"
        "child = subprocess.Popen([sys.executable, '-c', 'import signal; signal.pause()'])\n"
        f"open({str(marker)!r} + '.part', 'w').write(f'{{os.getpid()}} {{child.pid}}')\n"
        f"os.rename({str(marker)!r} + '.part', {str(marker)!r})\n"
        "signal.pause()"
    )
    task = asyncio.create_task(run_command(python(body)))
    await until(marker.exists)
    task.cancel()
    with pytest.raises(asyncio.CancelledError):
        await task
    pids = [int(pid) for pid in marker.read_text().split()]
    assert len(pids) == 2
    # The command itself was collected; its orphaned child is collected by the machine.
    assert not is_alive(pids[0])
    await until(lambda: not is_alive(pids[1]))


@pytest.mark.parametrize("steps", range(8))
async def test_cancelling_at_any_step_of_the_start_and_again_leaves_nothing(
    steps: int, tmp_path: Path
) -> None:
    name = f"pullcall-test-{tmp_path.name}-{steps}"
    task = asyncio.create_task(run_command(python(f"import signal; signal.pause()  # {name}")))
    for _ in range(steps):
        await asyncio.sleep(0)
    task.cancel()
    await asyncio.sleep(0)
    task.cancel()
    with pytest.raises(asyncio.CancelledError):
        await task
    assert not await asyncio.to_thread(_running, name)


def _running(name: str) -> list[Path]:
    """The processes that have ``name`` among their arguments."""
    found = []
    for path in Path("/proc").glob("[0-9]*/cmdline"):
        try:
            if name.encode() in path.read_bytes():
                found.append(path)
        except OSError:
            continue
    return found
