"""The virtual adapter as a process of its own, for tests and for the demo."""

from __future__ import annotations

import asyncio
import contextlib
import json
import sys
import tempfile
from collections.abc import AsyncIterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from pullcall.errors import SourceError
from pullcall.simulators.bluetooth.bus import stop
from pullcall.simulators.bluetooth.control import Control
from pullcall.simulators.bluetooth.probes import Probe
from pullcall.simulators.bluetooth.scenario import dump


@dataclass(frozen=True, slots=True)
class AdapterProcess:
    """A running adapter: its bus (for DBUS_SYSTEM_BUS_ADDRESS) and its control channel."""

    bus: str
    path: str
    control: Control


@contextlib.asynccontextmanager
async def adapter_process(
    probes: Sequence[Probe], *, bus: str | None = None
) -> AsyncIterator[AdapterProcess]:
    """Run an adapter with ``probes`` on a bus of its own, or on ``bus``, for a block's length.

    It ends with this process, however that ends. Raises :class:`SourceError` where it cannot start.
    """
    with tempfile.TemporaryDirectory(prefix="pullcall-adapter-") as folder:
        options = _options(Path(folder), probes)
        process = await _start([*options, *(["--bus", bus] if bus else [])])
        try:
            ready = await _ready(process)
            async with Control.open(ready["control"]) as control:
                yield AdapterProcess(ready["bus"], ready["control"], control)
        finally:
            await stop(process)


def _options(folder: Path, probes: Sequence[Probe]) -> list[str]:
    scenario = folder / "scenario.json"
    scenario.write_text(dump(probes), encoding="utf-8")
    return ["--scenario", str(scenario), "--control", str(folder / "control")]


async def _start(options: Sequence[str]) -> asyncio.subprocess.Process:
    return await asyncio.create_subprocess_exec(
        sys.executable,
        "-m",
        "pullcall.simulators.bluetooth",
        "--until-stdin-closes",
        *options,
        stdin=asyncio.subprocess.PIPE,
        stdout=asyncio.subprocess.PIPE,
        start_new_session=True,  # Ctrl-C in a terminal is for the owner, who then ends this
    )


async def _ready(process: asyncio.subprocess.Process) -> dict[str, str]:
    assert process.stdout is not None
    line = await process.stdout.readline()
    if not line:
        raise SourceError("the virtual adapter did not start; see what it wrote above")
    ready: dict[str, str] = json.loads(line)
    return ready
