"""What the daemon costs: time to ready, CPU idle and busy, memory."""

from __future__ import annotations

import asyncio
import os
import tempfile
import time
from pathlib import Path

from pullcall.simulators.bluetooth.probes import Probe, Standard
from pullcall.simulators.bluetooth.process import adapter_process
from tests.integration.daemon import daemon, free_port

PROBES = (
    Probe("02:00:00:00:01:01", "left", Standard.HEALTH_THERMOMETER, interval_s=0.5),
    Probe("02:00:00:00:01:02", "right", Standard.COOKWARE, interval_s=0.5),
)
CONFIG = "".join(
    f'[[steak]]\nname = "{probe.name}"\nprobe = "{probe.address}/1"\n' for probe in PROBES
)
WATCHED_S = 30.0


async def measure() -> str:
    """Seconds to ready, per cent of one core, megabytes resident."""
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "pullcall.toml"
        file.write_text(CONFIG)
        arguments = ("serve", "--config", str(file), "--log", f"{folder}/cooks.db")
        async with adapter_process(PROBES) as adapter:
            began = time.perf_counter()
            async with daemon(*arguments, port=free_port(), bus=adapter.bus) as site:
                ready = time.perf_counter() - began
                await asyncio.sleep(5.0)
                idle = await _cpu_share(site.process.pid)
                await site.post("marks", mark="on")
                await adapter.control.feed([(p.address, "1", 30.0) for p in PROBES])
                await asyncio.sleep(20.0)
                busy = await _cpu_share(site.process.pid)
                memory = _resident_mb(site.process.pid)
    return (
        f"ready in {ready:.2f} s (target <= 2), two probes at 2 Hz: nothing on {idle:.1%} of a "
        f"core, two steaks on with forecasts {busy:.1%} (target <= 3 %), {memory:.0f} MB resident "
        f"(target <= 120)"
    )


async def _cpu_share(pid: int) -> float:
    before = _cpu_seconds(pid)
    await asyncio.sleep(WATCHED_S)
    return (_cpu_seconds(pid) - before) / WATCHED_S


def _cpu_seconds(pid: int) -> float:
    fields = Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def _resident_mb(pid: int) -> float:
    pages = int(Path(f"/proc/{pid}/statm").read_text().split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 1e6
