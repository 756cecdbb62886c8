"""A whole cook over Bluetooth: the daemon, the virtual adapter and a page, each its own process.

The readings are a straight rise, simulated.
"""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from pathlib import Path

import pytest

from pullcall.log.store import Store
from pullcall.simulators.bluetooth.control import Control
from pullcall.simulators.bluetooth.probes import Probe, Standard
from pullcall.simulators.bluetooth.process import AdapterProcess, adapter_process
from tests.integration.daemon import Daemon, Message, daemon, free_port, run_pullcall, watching
from tests.tools import require_tool

LEFT, RIGHT = "02:00:00:00:01:01", "02:00:00:00:01:02"
PROBES = (
    Probe(LEFT, "left steak", Standard.HEALTH_THERMOMETER, interval_s=0.25, start_c=43.5),
    Probe(RIGHT, "right steak", Standard.COOKWARE, interval_s=0.25, start_c=42.5),
)
#: A usual rise: 43.5 C reaches the pull temperature of 129 F (53.9 C) in about 105 s.
RISE_C_PER_S = 0.1
CONFIG = f"""
[[steak]]
name = "left"
probe = "{LEFT}/1"
[[steak]]
name = "right"
probe = "{RIGHT}/1"
"""


@asynccontextmanager
async def rising(control: Control) -> AsyncIterator[None]:
    """Let both probes rise steadily."""

    async def rise() -> None:
        began = asyncio.get_running_loop().time()
        while True:
            gained = RISE_C_PER_S * (asyncio.get_running_loop().time() - began)
            await control.feed([(LEFT, "1", 43.5 + gained), (RIGHT, "1", 42.5 + gained)])
            await asyncio.sleep(0.1)

    task = asyncio.create_task(rise())
    try:
        yield
    finally:
        task.cancel()


async def both_live(site: Daemon) -> None:
    async with watching(site) as page:
        for steak in ("left", "right"):
            await page.until(reading_of(steak), 20)


async def reading_after(site: Daemon, steak: str) -> Message:
    """The next reading of a steak from now on."""
    now = (await site.snapshot())["t"]
    async with watching(site) as page:
        return await page.until(reading_of(steak, now), 30)


def reading_of(steak: str, after_t: float = 0.0) -> Callable[[Message], bool]:
    """Whether a message is a later reading of this steak."""
    return lambda m: m["type"] == "reading" and m["steak"] == steak and m["t"] > after_t


@pytest.mark.integration
async def test_a_whole_cook_survives_link_loss_a_bluetooth_restart_and_a_kill(
    tmp_path: Path,
) -> None:
    require_tool("dbus-daemon", "dbus")
    config, log, port = tmp_path / "pullcall.toml", tmp_path / "cooks.db", free_port()
    config.write_text(CONFIG)
    command = ("serve", "--config", str(config), "--log", str(log))
    async with adapter_process(PROBES) as adapter, rising(adapter.control):
        before, marks = await until_forty_then_kill(command, port, adapter)
        async with daemon(*command, port=port, bus=adapter.bus) as again:
            await check_resumed(again, before, marks)
            await to_the_end(again)
    await check_replay(tmp_path, log, before["cook"]["id"])


async def until_forty_then_kill(
    command: tuple[str, ...], port: int, adapter: AdapterProcess
) -> tuple[Message, list[str]]:
    """Cook on until "pull in forty" with Bluetooth breaking, then kill; snapshot and marks."""
    async with daemon(*command, port=port, bus=adapter.bus) as site:
        await both_live(site)
        on = await site.post("marks", mark="on", ago_s=420)
        flip = await site.post("marks", mark="flip", ago_s=180)
        async with asyncio.TaskGroup() as tasks:
            tasks.create_task(break_bluetooth(site, adapter.control))
            async with watching(site) as page:
                forty = await page.call("pull_soon", "left", 90)
        assert forty["in_s"] == 40
        before = await site.snapshot()
        site.kill()
        await site.process.wait()
        return before, [on["id"], flip["id"]]


async def break_bluetooth(site: Daemon, control: Control) -> None:
    """A dropped link, then bluetoothd restarts without a goodbye; readings come back each time."""
    await control.drop(LEFT)
    await reading_after(site, "left")
    await control.bluetoothd_stop(tidy=False)
    await control.bluetoothd_start()
    for steak in ("left", "right"):
        await reading_after(site, steak)


async def check_resumed(site: Daemon, before: Message, marks: list[str]) -> None:
    """The cook goes on: same cook, same marks, same calls, a clock that did not stop."""
    after = await site.snapshot()
    assert after["cook"] == before["cook"]
    assert [m["id"] for m in after["marks"]] == marks
    assert {c["id"] for c in before["calls"]} <= {c["id"] for c in after["calls"]}
    assert after["t"] > before["t"]
    assert after["epoch"] != before["epoch"]


async def to_the_end(site: Daemon) -> None:
    """Pull both steaks when told to."""
    async with watching(site) as page:
        for steak in ("left", "right"):
            now = await page.call("pull_now", steak, 90)
            assert now["priority"] == 1
            await site.post("acknowledgements", call=now["id"], by="test")
            await site.post("marks", mark="off", steak=steak)
    assert {s["phase"] for s in (await site.snapshot())["steaks"]} == {"resting"}


async def check_replay(folder: Path, log: Path, cook: str) -> None:
    """The exported cook gives the calls that were announced, byte for byte, each time."""
    exported = folder / "cook.jsonl"
    await run_pullcall("export", cook, "--log", str(log), "-o", str(exported))
    replayed = await run_pullcall("replay", str(exported), "--calls", "-")
    with Store(log) as store:
        announced = store.call_lines(cook)
    assert announced == replayed.splitlines()
    assert {json.loads(line)["call"] for line in announced} >= {"pull_soon", "pull_now"}
    assert replayed == await run_pullcall("replay", cook, "--log", str(log), "--calls", "-")
