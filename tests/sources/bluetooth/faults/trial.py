"""One trial: the collector on unmodified bleak, a virtual adapter, and a script of faults."""

from __future__ import annotations

import asyncio
import contextlib
import os
import tempfile
from collections.abc import AsyncIterator, Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from pullcall.clock import RealClock
from pullcall.simulators.bluetooth.bus import PrivateBus
from pullcall.sources.bluetooth import BluetoothOptions, BluetoothSource
from pullcall.sources.sink import AdapterState, LinkState
from tests.sources.bluetooth.faults.air import CHANNELS, FORGERS, TWIN, Air, measured
from tests.sources.bluetooth.faults.witness import Witness
from tests.sources.collector import QUICK

#: Short, in the order of the defaults, and long enough for a busy machine to keep up.
FAST = replace(
    QUICK,
    read_s=0.5,
    quiet_scan_s=1.5,
    unheard_s=1.5,
    disconnect_s=0.5,
    restarted_s=1.0,
    makes_way_s=1.0,
    stranger_makes_way_s=0.5,
)
#: Longer than any recovery takes with these timings; only a hang reaches it.
DEADLINE_S = 60.0


@dataclass(frozen=True, slots=True)
class Step:
    """One thing that happens, and how long after it the next one does."""

    act: str
    arguments: tuple[Any, ...] = ()
    then_s: float = 0.0

    def __str__(self) -> str:
        """Print a script as it is read."""
        return f"{self.act}{self.arguments} then {self.then_s:g} s"


class Trial:
    """A collector at work, its witness, and the air around it."""

    def __init__(self, air: Air, source: BluetoothSource, witness: Witness) -> None:
        self.air, self.source, self.witness = air, source, witness
        self._files = self._tasks = 0
        self._running = asyncio.create_task(source.run(witness), name="the collector")
        self._looking = asyncio.create_task(self._look_on(), name="the witness")

    async def play(self, script: Sequence[Step]) -> None:
        """Let everything happen in turn."""
        for step in script:
            if step.act == "look":
                await self.until(self._adapter_is_shown)
            else:
                await self.air.act(step.act, *step.arguments)
            await asyncio.sleep(step.then_s)
            self._still_runs()

    async def all_stream(self) -> None:
        """Wait until every real probe has a new value."""
        since = RealClock().monotonic()
        await self.until(lambda: self._all_stream(since))
        self._files = self._files or _open_files()
        self._tasks = self._tasks or len(asyncio.all_tasks())

    def devices(self) -> set[str]:
        """Every device that is shown."""
        return {status.device for status in self.source.probes()}

    async def recover(self) -> None:
        """End every fault and wait until all is as it should be."""
        await self.air.heal()
        await self.all_stream()
        await self.until(self._adapter_is_well)
        await self.until(self._names_are_true)
        await self.until(self._has_let_go)

    async def end(self) -> None:
        """Cancel the collector: nothing of it may be left."""
        self._still_runs()
        self._looking.cancel()
        self._running.cancel()
        await asyncio.wait({self._running, self._looking})
        assert self._running.cancelled(), self._running
        state = self.air.adapter.state()
        connected = [a for a, probe in state["probes"].items() if probe["connected"]]
        assert not connected, f"still connected: {connected}"
        assert self.air.scans() == 0, "the scan goes on"
        assert state["overlaps"] == 0, "two connects were under way at once"
        assert not self.witness.wrongs, "\n".join(self.witness.wrongs)

    async def until(self, question: Callable[[], bool]) -> None:
        """Wait until the answer is yes, or fail with what is seen instead."""
        deadline = asyncio.get_running_loop().time() + DEADLINE_S
        while not question():
            self._still_runs()
            seen = "\n".join(map(repr, (self.source.adapter(), *self.source.probes())))
            assert asyncio.get_running_loop().time() < deadline, f"{question.__name__}\n{seen}"
            await asyncio.sleep(0.02)

    async def _look_on(self) -> None:
        while True:
            self.witness.look()
            await asyncio.sleep(0.02)

    def _still_runs(self) -> None:
        assert not self._running.done(), self._running
        assert not self._looking.done(), self._looking
        assert not self.witness.wrongs, "\n".join(self.witness.wrongs)
        assert self.air.scans() <= 1, "two scans run"

    def _all_stream(self, since: float) -> bool:
        heard = self.witness.heard
        states = {p.channel: p.state for p in self.source.probes()}
        return all(
            c in heard and heard[c].at > since and states[c] is LinkState.STREAMING
            for c in CHANNELS
        )

    def _adapter_is_shown(self) -> bool:
        status = self.source.adapter()
        return status is not None and status.state in self.air.adapter_states()

    def _adapter_is_well(self) -> bool:
        status = self.source.adapter()
        return status is not None and status.state in {AdapterState.OK, AdapterState.RESTARTED}

    def _has_let_go(self) -> bool:
        """Whether no more is open than before the faults, but what keeps looking for forgers."""
        forgers = self.devices() & {forger.address for forger in FORGERS.values()}
        more = len(asyncio.all_tasks()) - self._tasks
        return _open_files() <= self._files and more <= 2 * len(forgers)

    def _names_are_true(self) -> bool:
        for status in self.source.probes():
            if status.channel not in CHANNELS:
                continue
            found = measured(self.witness.heard[status.channel].celsius)
            assert found is not None
            label = f" (Probe {found.channel})" if found.address == TWIN else ""
            if status.name != self.air.name(status.device) + label:
                return False
        return True


def _open_files() -> int:
    return len(list(Path("/proc/self/fd").iterdir()))


@contextlib.asynccontextmanager
async def trial() -> AsyncIterator[Trial]:
    """Put up a bus, an adapter and a collector for the length of a block."""
    with tempfile.TemporaryDirectory(prefix="pullcall-trial-") as folder:
        bus = PrivateBus(Path(folder))
        await bus.start()
        os.environ["DBUS_SYSTEM_BUS_ADDRESS"] = bus.address
        try:
            air = Air(bus)
            async with air.adapter:
                source = BluetoothSource(BluetoothOptions(timings=FAST), RealClock())
                witness = Witness(air, FAST)
                witness.follow(source)
                yield Trial(air, source, witness)
        finally:
            await bus.stop()
