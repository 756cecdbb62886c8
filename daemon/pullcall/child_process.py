"""A process beside this one, of which nothing is left once it was ended."""

from __future__ import annotations

import asyncio
import contextlib
import os
import signal
from asyncio.subprocess import Process, SubprocessStreamProtocol
from collections.abc import Mapping, Sequence

from pullcall.seen_through import seen_through

#: What left its group may hold its pipes open: they are read no longer than this, seconds.
LAST_WORDS_S = 1.0
#: The longest line that can be read at once, bytes.
_LONGEST_LINE = 2**16


class ChildProcess(Process):
    """As asyncio has it, and with an end that is whole."""

    def __init__(
        self,
        transport: asyncio.SubprocessTransport,
        protocol: SubprocessStreamProtocol,
        loop: asyncio.AbstractEventLoop,
    ) -> None:
        super().__init__(transport, protocol, loop)
        self._way = transport

    async def end(self) -> None:
        """Kill it with all that it started, unless it has ended, and collect it.

        What it wrote and nobody read is lost. Nobody may read from it meanwhile. Cancelled, it
        raises only once the process is collected.
        """
        self.kill_all()
        await seen_through(self._collect())

    def kill_all(self) -> None:
        """Kill it with all that it started, unless it has ended."""
        if self.returncode is None:
            with contextlib.suppress(ProcessLookupError):
                os.killpg(self.pid, signal.SIGKILL)

    async def close(self) -> None:
        """Let go of its pipes, and return once it has ended; it must have been told to."""
        self._way.close()
        await self.wait()

    async def _collect(self) -> None:
        """asyncio holds it to be there for as long as there is something to read from it."""
        with contextlib.suppress(TimeoutError):
            async with asyncio.timeout(LAST_WORDS_S):
                await self.communicate()
        await self.close()


async def spawn(
    command: Sequence[str],
    *,
    stdin: int | None = None,
    stdout: int | None = None,
    stderr: int | None = None,
    env: Mapping[str, str] | None = None,
) -> ChildProcess:
    """Start it, apart from this one's group, so that Ctrl-C does not reach it.

    The streams are as for asyncio.create_subprocess_exec. Raises OSError.
    """
    loop = asyncio.get_running_loop()
    transport, protocol = await loop.subprocess_exec(
        lambda: SubprocessStreamProtocol(_LONGEST_LINE, loop),
        *command,
        stdin=stdin,
        stdout=stdout,
        stderr=stderr,
        env=env,
        start_new_session=True,
    )
    return ChildProcess(transport, protocol, loop)
