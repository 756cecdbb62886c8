"""A private message bus, so that a virtual adapter never touches the machine's own."""

from __future__ import annotations

import asyncio
import contextlib
import shutil
import tempfile
from collections.abc import AsyncIterator
from pathlib import Path

from pullcall.errors import SourceError
from pullcall.seen_through import seen_through

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


class PrivateBus:
    """A message bus of our own in ``folder``; stopped and started, its address stays the same."""

    def __init__(self, folder: Path) -> None:
        self.address = f"unix:path={folder / 'bus'}"
        self._folder = folder
        self._process: asyncio.subprocess.Process | None = None

    async def start(self) -> None:
        """Run it. Raises :class:`SourceError` where the program is missing or does not start."""
        if self._process is None:
            said = self._folder / "said"
            self._process = await _start(_config(self._folder), said)
            await _until_ready(self._process, said)

    async def stop(self) -> None:
        """End it: everybody on it is cut off."""
        if self._process is not None:
            process, self._process = self._process, None
            await stop(process)


@contextlib.asynccontextmanager
async def private_bus() -> AsyncIterator[str]:
    """Run a bus for the length of a block and yield its address; raises as it does."""
    with tempfile.TemporaryDirectory(prefix="pullcall-bus-") as folder:
        bus = PrivateBus(Path(folder))
        try:
            await bus.start()
            yield bus.address
        finally:
            await bus.stop()


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


async def _until_ready(process: asyncio.subprocess.Process, said: Path) -> None:
    assert process.stdout is not None
    if not await process.stdout.readline():  # it prints its address once it listens
        await process.wait()
        raise SourceError(f"dbus-daemon did not start; mend what it says: {_text(said)}")


def _text(path: Path) -> str:
    return path.read_text(encoding="utf-8", errors="replace").strip()


async def stop(process: asyncio.subprocess.Process) -> None:
    """End a child process: ask it to, and insist after a few seconds, even where cancelled."""
    await seen_through(_stop(process))


async def _stop(process: asyncio.subprocess.Process) -> None:
    with contextlib.suppress(ProcessLookupError):
        process.terminate()
    try:
        async with asyncio.timeout(_STOP_WITHIN_S):
            await process.communicate()
    except TimeoutError:
        process.kill()
        await process.communicate()
