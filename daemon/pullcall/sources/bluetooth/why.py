"""Errors of bleak and the bus in words, and a limit on how long anything may take."""

from __future__ import annotations

import asyncio
from collections.abc import Coroutine
from typing import Any, TypeVar

from bleak.exc import BleakDeviceNotFoundError

T = TypeVar("T")

#: What an error's text holds, and what people are told instead.
_WORDS = (
    ("InProgress", "another connection is being made; trying again"),
    ("abort-by-local", "radio interference broke the connection"),
    ("NotReady", "the adapter is not ready"),
    ("UnknownObject", "it is out of reach"),
    ("ServiceUnknown", "the Bluetooth service has ended"),
    ("AccessDenied", "this user may not use Bluetooth"),
    ("uthenticat", "it wants to be paired first; run: bluetoothctl pair ADDRESS"),
    ("NotPermitted", "it wants to be paired first; run: bluetoothctl pair ADDRESS"),
    ("disconnected", "the link dropped while connecting"),
)


def why(error: BaseException, address: str = "") -> str:
    """Say what went wrong, as half a sentence for people."""
    if isinstance(error, BleakDeviceNotFoundError):
        return "it is out of reach"
    if isinstance(error, TimeoutError):
        return "it did not answer in time"
    text = f"{type(error).__name__}: {error}"
    for part, words in _WORDS:
        if part in text:
            return words.replace("ADDRESS", address)
    return f"connecting failed ({text})"


#: What does not react to its cancellation within this time is given up, seconds.
_CANCEL_S = 1.0


class Strays:
    """Runs calls that may hang. One that outlives its limit is cancelled and left to end alone."""

    def __init__(self) -> None:
        self._tasks: set[asyncio.Task[Any]] = set()

    async def within(self, limit_s: float, work: Coroutine[Any, Any, T]) -> T:
        """Run ``work``.

        :raises TimeoutError: it has not ended after ``limit_s`` seconds. One that does not react
            to being cancelled is waited for a second longer.
        """
        task = self.start(work)
        try:
            done, _ = await asyncio.wait({task}, timeout=limit_s)
        except asyncio.CancelledError:
            task.cancel()
            raise
        if not done:
            task.cancel()
            # What it had begun is undone before anybody begins the same again.
            await asyncio.wait({task}, timeout=_CANCEL_S)
            raise TimeoutError(f"no answer within {limit_s:g} s")
        return task.result()

    def start(self, work: Coroutine[Any, Any, T]) -> asyncio.Task[T]:
        """Run ``work`` in the background; its errors are nobody's trouble."""
        task = asyncio.ensure_future(work)
        self._tasks.add(task)
        task.add_done_callback(self._ended)
        return task

    async def settle(self, limit_s: float) -> None:
        """Wait for all of them, at most ``limit_s`` seconds; cancel those that go on."""
        if self._tasks:
            await asyncio.wait(set(self._tasks), timeout=limit_s)
        left = set(self._tasks)
        for task in left:
            task.cancel()
        if left:
            await asyncio.wait(left, timeout=_CANCEL_S)

    def _ended(self, task: asyncio.Task[Any]) -> None:
        self._tasks.discard(task)
        if not task.cancelled():
            task.exception()  # looked at, so that nothing is said about it later
