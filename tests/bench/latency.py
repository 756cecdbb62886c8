"""From a packet on the D-Bus to the message at ten websocket clients."""

from __future__ import annotations

import asyncio
import json
import tempfile
import time
from pathlib import Path

import numpy as np
import websockets

from pullcall.simulators.bluetooth import encoding
from pullcall.simulators.bluetooth.adapter import VirtualAdapter
from pullcall.simulators.bluetooth.bus import private_bus
from pullcall.simulators.bluetooth.probes import COOKING_TEMPERATURE, Probe, Standard
from tests.integration.daemon import Daemon, daemon, free_port

ADDRESS = "02:00:00:00:01:02"
CLIENTS = 10
PACKETS = 500


async def measure() -> str:
    """Milliseconds, every client and packet counted."""
    probe = Probe(ADDRESS, "steak", Standard.COOKWARE, interval_s=3600.0)
    config = f'[[steak]]\nname = "left"\nprobe = "{ADDRESS}/1"\n'
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "pullcall.toml"
        file.write_text(config)
        arguments = ("serve", "--config", str(file), "--log", f"{folder}/cooks.db")
        async with (
            private_bus() as bus,
            VirtualAdapter(bus, [probe]) as adapter,
            daemon(*arguments, port=free_port(), bus=bus) as site,
        ):
            delays = await _delays(adapter, site)
    p50, p99, most = np.percentile(np.array(delays) * 1000.0, [50, 99, 100])
    return (
        f"packet to message p50 {p50:.1f} ms, p99 {p99:.1f} ms, most {most:.1f} ms, "
        f"{CLIENTS} clients, {PACKETS} packets (target p99 <= 20 ms)"
    )


async def _delays(adapter: VirtualAdapter, site: Daemon) -> list[float]:
    sent: dict[float, float] = {}
    delays: list[float] = []
    async with asyncio.TaskGroup() as tasks:
        for _ in range(CLIENTS):
            tasks.create_task(_listen(site, sent, delays))
        await asyncio.sleep(4.0)  # every client greeted, the probe connected
        await site.post("marks", mark="on")
        for k in range(PACKETS):
            celsius = round(20.0 + 0.1 * k, 1)
            sent[celsius] = time.perf_counter()
            packet = encoding.cooking_temperature(celsius)
            adapter.send_packet(ADDRESS, packet, COOKING_TEMPERATURE)
            await asyncio.sleep(0.02)
    return delays


async def _listen(site: Daemon, sent: dict[float, float], delays: list[float]) -> None:
    heard = 0
    async with websockets.connect(site.stream) as socket:
        async for line in socket:
            message = json.loads(line)
            if message["type"] == "reading" and message["celsius"] in sent:
                delays.append(time.perf_counter() - sent[message["celsius"]])
                heard += 1
            if heard == PACKETS:
                return
