"""A private message bus, so that a virtual adapter never touches the machine's own."""

from __future__ import annotations

import asyncio
import contextlib
import shutil
import tempfile
from collections.abc import AsyncIterator
from pathlib import Path

from pullcall.errors import SourceError

#: One unix socket, the connecting user's own credentials, everything allowed.
_CONFIG = """\
<!DOCTYPE busconfig PUBLIC "-//freedesktop//DTD D-Bus Bus Configuration 1.0//EN"
 "http://www.freedesktop.org/standards/dbus/1.0/busconfig.dtd">
<busconfig>
  <listen>unix:path={socket}</listen>
  <auth>EXTERNAL</auth>
  <policy context="default">
    <allow user="*"/>
    <allow own="*"/>
    <allow send_type="method_call"/>
    <allow send_destination="*" eavesdrop="true"/>
    <allow receive_type="method_call"/>
    <allow eavesdrop="true"/>
  </policy>
</busconfig>
"""

#: Directories that a plain user's PATH may lack.
_SYSTEM_PROGRAMS = "/usr/sbin:/sbin:/usr/bin"

_STOP_WITHIN_S = 5.0


@contextlib.asynccontextmanager
async def private_bus() -> AsyncIterator[str]:
    """Run a message bus of our own and yield its address; it ends with the block.

    Raises :class:`SourceError` where the program is missing or does not start.
    """
    with tempfile.TemporaryDirectory(prefix="pullcall-bus-") as folder:
        said = Path(folder, "said")
        process = await _start(_config(Path(folder)), said)
        try:
            yield await _address(process, said)
        finally:
            await stop(process)


def _config(folder: Path) -> Path:
    path = folder / "bus.conf"
    path.write_text(_CONFIG.format(socket=folder / "bus"), encoding="utf-8")
    return path


async def _start(config: Path, said: Path) -> asyncio.subprocess.Process:
    program = shutil.which("dbus-daemon") or shutil.which("dbus-daemon", path=_SYSTEM_PROGRAMS)
    if program is None:
        raise SourceError("dbus-daemon is missing; install it with: apt install dbus")
    # The kernel ends the bus with this process, even when this process is killed.
    tie = shutil.which("setpriv")
    command = [tie, "--pdeathsig", "TERM", program] if tie else [program]
    options = f"--config-file={config} --nofork --nopidfile --nosyslog --print-address=1"
    # It grumbles about limits that do not matter here: kept for the error, not for the screen.
    with said.open("wb") as grumbles:
        return await asyncio.create_subprocess_exec(
            *command,
            *options.split(),
            stdin=asyncio.subprocess.DEVNULL,
            stdout=asyncio.subprocess.PIPE,
            stderr=grumbles,
        )


async def _address(process: asyncio.subprocess.Process, said: Path) -> str:
    assert process.stdout is not None
    line = (await process.stdout.readline()).decode().strip()
    if not line:
        reason = _text(said)
        raise SourceError(f"dbus-daemon did not start; mend what it says: {reason}")
    return line


def _text(path: Path) -> str:
    return path.read_text(encoding="utf-8", errors="replace").strip()


async def stop(process: asyncio.subprocess.Process) -> None:
    """End a child process: ask it to, and insist after a few seconds."""
    with contextlib.suppress(ProcessLookupError):
        process.terminate()
    try:
        async with asyncio.timeout(_STOP_WITHIN_S):
            await process.communicate()
    except TimeoutError:
        process.kill()
        await process.communicate()
