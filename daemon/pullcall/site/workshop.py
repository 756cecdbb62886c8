"""Works out cooks that are over, one after the other, in a process of its own that yields to all
others: the calls of a cook that runs never wait for it."""

from __future__ import annotations

import asyncio
import logging
import sys
from collections.abc import Callable
from pathlib import Path

from pullcall.command import run_command

logger = logging.getLogger(__name__)

#: A cook that takes longer than this to work out is given up, seconds.
_PATIENCE_S = 900.0
#: What makes the derived files of one cook: the log and the cook's id follow.
COMMAND = (sys.executable, "-m", "pullcall.hindsight")


class Workshop:
    """One bench: cooks wait in the order they were asked for.

    ``on_done`` is told the id of every cook that was worked out, or could not be.
    """

    def __init__(
        self, log: Path, on_done: Callable[[str], None], command: tuple[str, ...] = COMMAND
    ) -> None:
        self._log = log
        self._on_done = on_done
        self._command = command
        self._waiting: dict[str, asyncio.Future[None]] = {}
        self._asked = asyncio.Event()
        self._troubles: dict[str, str] = {}
        self._bench: tuple[str, asyncio.Task[str | None]] | None = None

    def ask(self, cook: str) -> asyncio.Future[None]:
        """Have a cook worked out; the future is done once that ended, well or not."""
        if cook not in self._waiting:
            self._waiting[cook] = asyncio.get_running_loop().create_future()
            self._asked.set()
        return self._waiting[cook]

    def is_working(self, cook: str) -> bool:
        """Whether a cook waits or is being worked out."""
        return cook in self._waiting

    @property
    def count(self) -> int:
        """How many cooks wait or are being worked out."""
        return len(self._waiting)

    def trouble(self, cook: str) -> str | None:
        """Why a cook could not be worked out the last time."""
        return self._troubles.get(cook)

    async def drop(self, cook: str) -> None:
        """The cook is deleted: return once nothing waits for it or works at it any more."""
        if self._bench is not None and self._bench[0] == cook:
            self._bench[1].cancel()
            await asyncio.wait([self._waiting[cook]])
        elif cook in self._waiting:
            self._waiting.pop(cook).set_result(None)
        self._troubles.pop(cook, None)

    async def run(self) -> None:
        """Work until cancelled. A cook that cannot be worked out is noted and passed over; begun
        again after a mistake, it goes on with those that wait."""
        while True:
            while self._waiting:
                await self._do(next(iter(self._waiting)))
            self._asked.clear()
            await self._asked.wait()

    async def _do(self, cook: str) -> None:
        self._troubles.pop(cook, None)
        try:
            trouble = await self._at_the_bench(cook)
            if trouble is not None:
                logger.error("The cook %s could not be worked out: %s", cook, trouble)
                self._troubles[cook] = trouble
            self._on_done(cook)
        finally:  # also after a mistake: the same cook must not keep the others waiting for ever
            waiting = self._waiting.pop(cook)
            if not waiting.done():
                waiting.set_result(None)

    async def _at_the_bench(self, cook: str) -> str | None:
        """Why it could not be worked out; None also where it was dropped meanwhile."""
        work = asyncio.create_task(self._work_out(cook), name=f"workshop {cook}")
        self._bench = cook, work
        try:
            await asyncio.wait({work})
        finally:
            self._bench = None
            if not work.done():  # stopped: leave no process behind
                work.cancel()
                await asyncio.wait({work})
        return None if work.cancelled() else work.result()

    async def _work_out(self, cook: str) -> str | None:
        """None, or what went wrong."""
        try:
            async with asyncio.timeout(_PATIENCE_S):
                ended = await run_command([*self._command, "--", str(self._log), cook])
        except TimeoutError:
            return f"it took longer than {_PATIENCE_S / 60:.0f} minutes"
        except OSError as exc:
            return f"no process could be started for it ({exc.strerror})"
        return None if ended.code == 0 else ended.complaint or f"it ended with {ended.code}"
