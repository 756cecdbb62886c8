"""One life of the installed daemon, from its start to its kill, and what a page heard of it."""

from __future__ import annotations

import asyncio
import contextlib
import json
import os
import signal
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import httpx
import websockets

from pullcall.child_process import ChildProcess, spawn
from tests.integration.daemon import PULLCALL

Message = dict[str, Any]
#: A daemon that is not ready by then will never be, seconds.
_LONGEST_START_S = 120.0
_POLL_S = 0.005
#: How often its own processes are looked for, seconds.
_CHILDREN_S = 0.1


@dataclass(frozen=True, slots=True)
class Place:
    """Where the daemon keeps its files, and its page's port; plain http is on the next one."""

    folder: Path
    port: int

    @property
    def log(self) -> Path:
        """The cook log."""
        return self.folder / "cooks.db"

    @property
    def config(self) -> Path:
        """Its configuration."""
        return self.folder / "pullcall.toml"

    @property
    def here(self) -> str:
        """The plain way in for this machine."""
        return f"127.0.0.1:{self.port + 1}/api/v1"

    def environment(self) -> dict[str, str]:
        """Everything it may leave behind lies in the one folder."""
        own = {"XDG_STATE_HOME": str(self.folder / "state"), "TMPDIR": str(self.folder / "tmp")}
        return os.environ | own | {"PYTHONUNBUFFERED": "1"}


@dataclass(frozen=True, slots=True)
class Heard:
    """A message and when it came, on the machine's monotonic clock, seconds."""

    at: float
    message: Message


class Life:
    """A daemon that runs until it is killed; a page listens as soon as it can."""

    def __init__(
        self, place: Place, on_call: Callable[[Message], None], usual_start_s: float = 1.0
    ) -> None:
        """``on_call`` is told of every call as it reaches the page; ``usual_start_s`` is how long
        a start took before."""
        self.place = place
        self.usual_start_s = usual_start_s
        self._on_call = on_call
        self.heard: list[Heard] = []
        self.ready_at: float | None = None
        self.killed_at: float | None = None
        self.children: set[int] = set()
        self._process: ChildProcess | None = None
        self._tasks: list[asyncio.Task[None]] = []
        self._ready = asyncio.Event()
        self._snapshot = asyncio.Event()

    async def start(self) -> None:
        """Start it; nothing is waited for."""
        with (self.place.folder / "stderr.txt").open("ab") as errors:
            self.began_at = time.monotonic()
            self._process = await spawn(
                (
                    *(PULLCALL, "serve", "--config", str(self.place.config)),
                    *("--log", str(self.place.log)),
                ),
                env=self.place.environment(),
                stdout=asyncio.subprocess.PIPE,
                stderr=errors.fileno(),
            )
        self._tasks = [
            asyncio.create_task(self._until_ready(), name="ready"),
            asyncio.create_task(self._listen(), name="page"),
            asyncio.create_task(self._see_children(), name="children"),
        ]

    @property
    def pid(self) -> int:
        """Its process."""
        return self.process.pid

    @property
    def process(self) -> ChildProcess:
        """Its process, once started."""
        assert self._process is not None, "it was not started"
        return self._process

    async def ready(self) -> None:
        """Return once it says that it is ready and a page has its snapshot.

        Raises TimeoutError, and AssertionError where it ended instead.
        """
        async with asyncio.timeout(_LONGEST_START_S):
            await self._ready.wait()
            assert self.ready_at is not None, f"it ended: see {self.place.folder}/stderr.txt"
            await self._snapshot.wait()

    def snapshot(self) -> Message | None:
        """What the page began from."""
        return next((h.message for h in self.heard if h.message["type"] == "snapshot"), None)

    def cook(self) -> str:
        """The cook that the page was last shown."""
        shown = [h.message for h in self.heard if h.message["type"] == "snapshot"]
        return str(shown[-1]["cook"]["id"])

    def heard_of(self, cook: str) -> list[Heard]:
        """What was heard of one cook: a snapshot begins each."""
        found: list[Heard] = []
        is_shown = False
        for heard in self.heard:
            if heard.message["type"] == "snapshot":
                is_shown = heard.message["cook"]["id"] == cook
            if is_shown:
                found.append(heard)
        return found

    def zero(self) -> float:
        """The cook's zero on the machine's monotonic clock, as near as a page can tell."""
        told = [h for h in self.heard if h.message["type"] in ("hello", "tick")]
        return min((h.at - float(h.message["t"]) for h in told), default=time.monotonic())

    def calls(self) -> list[Heard]:
        """Every call that reached the page."""
        return [h for h in self.heard if h.message["type"] == "call"]

    async def ask(self, method: str, path: str, body: object = None) -> httpx.Response | None:
        """Its answer; None where it was killed meanwhile, or does not listen yet."""
        try:
            async with httpx.AsyncClient(timeout=20.0) as client:
                return await client.request(method, f"http://{self.place.here}/{path}", json=body)
        except httpx.TransportError:
            return None

    def signal_kill(self) -> None:
        """End it without any warning; :meth:`buried` waits until it is gone."""
        self.killed_at = time.monotonic()
        with contextlib.suppress(ProcessLookupError):
            os.kill(self.pid, signal.SIGKILL)

    async def buried(self) -> int:
        """Wait until the process is gone and the page has read what was sent; its exit code."""
        code = await self.process.wait()
        _, pending = await asyncio.wait(self._tasks, timeout=10)
        for task in pending:
            task.cancel()
        await asyncio.gather(*pending, return_exceptions=True)
        await self.process.end()
        for task in self._tasks:
            if task.done() and not task.cancelled():
                task.result()
        return code

    async def _until_ready(self) -> None:
        assert self.process.stdout is not None
        async for line in self.process.stdout:
            if b"is ready" in line:
                self.ready_at = time.monotonic()
                self._ready.set()
        self._ready.set()  # it ended: whoever waits is told

    async def _listen(self) -> None:
        """Try for a stream until there is one, then hear it to its end."""
        while self.process.returncode is None:
            try:
                async with websockets.connect(f"ws://{self.place.here}/stream") as socket:
                    async for line in socket:
                        self._hear(json.loads(line))
            except (OSError, websockets.WebSocketException):
                await asyncio.sleep(_POLL_S)

    async def _see_children(self) -> None:
        """Note every process that it starts: none may outlive it."""
        while self.process.returncode is None:
            self.children |= _children_of(self.pid)
            await asyncio.sleep(_CHILDREN_S)

    def _hear(self, message: Message) -> None:
        self.heard.append(Heard(time.monotonic(), message))
        if message["type"] == "snapshot":
            self._snapshot.set()
        elif message["type"] == "call":
            self._on_call(message)


def _children_of(pid: int) -> set[int]:
    """The processes that a process started and that live."""
    found: set[int] = set()
    with contextlib.suppress(OSError):
        for task in Path(f"/proc/{pid}/task").iterdir():
            with contextlib.suppress(OSError):
                found |= set(map(int, (task / "children").read_text().split()))
    return found


def is_alive(pid: int) -> bool:
    """Whether a process of ours still runs."""
    try:
        command = Path(f"/proc/{pid}/cmdline").read_bytes()
    except OSError:
        return False
    return b"pullcall" in command
