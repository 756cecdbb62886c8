"""What the daemon costs: time to ready, CPU idle and busy, memory."""

from __future__ import annotations

import asyncio
import tempfile
import time
from pathlib import Path

from pullcall.simulators.bluetooth.probes import Probe, Standard
from pullcall.simulators.bluetooth.process import adapter_process
from tests.bench.process_cost import cpu_seconds, resident_mb
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
                memory = resident_mb(site.process.pid)
    return (
        f"ready in {ready:.2f} s (target <= 2), two probes at 2 Hz: nothing on {idle:.1%} of a "
        f"core, two steaks on with forecasts {busy:.1%} (target <= 3 %), {memory:.0f} MB resident "
        f"(target <= 120)"
    )


async def _cpu_share(pid: int) -> float:
    before = cpu_seconds(pid)
    await asyncio.sleep(WATCHED_S)
    return (cpu_seconds(pid) - before) / WATCHED_S
