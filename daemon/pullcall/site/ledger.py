"""Writes the cook log without blocking the event loop, and keeps on while the disk fails."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor

from pullcall.errors import LogError
from pullcall.events import Call, Input
from pullcall.log.store import Store

logger = logging.getLogger(__name__)


class Ledger:
    """One cook's pen. What could not be written is kept, in order, and written when it can be."""

    def __init__(self, store: Store, on_trouble: Callable[[str | None], None]) -> None:
        self.trouble: str | None = None
        self._store = store
        self._on_trouble = on_trouble
        self._pen = ThreadPoolExecutor(1, thread_name_prefix="log")
        self._inputs: list[tuple[str, Input]] = []
        self._calls: list[tuple[str, Call]] = []

    async def write(self, cook: str, inputs: Sequence[Input]) -> None:
        """Return once ``inputs`` are safe on disk, or kept because the disk fails."""
        self._inputs += [(cook, event) for event in inputs]
        await self._flush()

    async def write_calls(self, cook: str, calls: Sequence[Call]) -> None:
        """Return once ``calls`` are safe on disk, or kept because the disk fails."""
        self._calls += [(cook, call) for call in calls]
        await self._flush()

    async def end(self, cook: str, when: str) -> None:
        """Note that ``cook`` is over."""
        await self._attempt(lambda: self._store.end(cook, when))

    def close(self) -> None:
        """Finish writing."""
        self._pen.shutdown(wait=True)

    async def _flush(self) -> None:
        if self._inputs and await self._attempt(lambda: _write_inputs(self._store, self._inputs)):
            self._inputs = []
        if self._calls and await self._attempt(lambda: _write_calls(self._store, self._calls)):
            self._calls = []

    async def _attempt(self, write: Callable[[], None]) -> bool:
        try:
            await asyncio.get_running_loop().run_in_executor(self._pen, write)
        except LogError as exc:
            self._tell(f"The cook is not being recorded, the calls go on. {exc}")
            return False
        self._tell(None)
        return True

    def _tell(self, trouble: str | None) -> None:
        if trouble == self.trouble:
            return
        self.trouble = trouble
        if trouble:
            logger.error(trouble)
        else:
            logger.info("The cook is being recorded again; nothing was lost.")
        self._on_trouble(trouble)


def _write_inputs(store: Store, waiting: Sequence[tuple[str, Input]]) -> None:
    for cook in dict.fromkeys(cook for cook, _ in waiting):
        store.append(cook, [event for owner, event in waiting if owner == cook])


def _write_calls(store: Store, waiting: Sequence[tuple[str, Call]]) -> None:
    for cook in dict.fromkeys(cook for cook, _ in waiting):
        store.append_calls(cook, [call for owner, call in waiting if owner == cook])
