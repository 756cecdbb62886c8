"""Simulated probes on the air: each has a place there, and a pull is seen through it."""

from __future__ import annotations

import asyncio
from datetime import UTC, datetime
from typing import cast

import pytest

from pullcall.clock import RecordedClock
from pullcall.simulators.bluetooth.control import Control
from pullcall.simulators.on_air import OnAir, airing
from pullcall.simulators.scenario import names, scenario
from pullcall.simulators.source import SimulatedSource

PULL_C = 53.9


class Leaping(RecordedClock):
    """Whoever sleeps is there at once; others had their turn."""

    async def sleep_until(self, monotonic: float) -> None:
        self.advance_to(monotonic)
        await asyncio.sleep(0)


class Air:
    """What was put on the air, by device; ``pulled`` once two of them came to the pull."""

    def __init__(self) -> None:
        self.hottest: dict[str, float] = {}
        self.pulled = asyncio.Event()

    async def set(self, address: str, channel: str, celsius: float) -> None:
        assert channel == "1"
        self.hottest[address] = max(celsius, self.hottest.get(address, celsius))
        if sum(celsius >= PULL_C for celsius in self.hottest.values()) == 3:
            self.pulled.set()


async def test_the_demo_comes_to_both_pulls_over_the_air() -> None:
    clock, air = Leaping(datetime(2026, 6, 13, 12, tzinfo=UTC)), Air()
    source = SimulatedSource(scenario("demo"), clock)
    aired = airing(source.scenario.header(), 0.5)
    on_air = asyncio.create_task(OnAir(source, cast(Control, air), aired.places).run())
    waiting = asyncio.create_task(air.pulled.wait())
    done, _ = await asyncio.wait({on_air, waiting}, return_when="FIRST_COMPLETED", timeout=60)
    on_air.cancel()
    waiting.cancel()
    await asyncio.gather(on_air, waiting, return_exceptions=True)
    assert done == {waiting}, "both steaks at the pull, and a grate that is hot"
    grate, hottest = aired.header.fire.channel, max(air.hottest, key=lambda one: air.hottest[one])
    assert grate == f"{hottest}/1"
    assert air.hottest[hottest] > 200.0


@pytest.mark.parametrize("name", names())
def test_every_probe_of_a_kitchen_has_a_device_and_a_bare_steak_has_none(name: str) -> None:
    source = SimulatedSource(scenario(name), RecordedClock(datetime(2026, 6, 13, 12, tzinfo=UTC)))
    aired = airing(source.scenario.header(), 0.5)
    assert set(aired.places) == {probe.channel for probe in source.probes()}
    on_air = {f"{probe.address}/{probe.channels[0]}" for probe in aired.probes}
    channels = [steak.channel for steak in aired.header.steaks] + [aired.header.fire.channel]
    assert {channel for channel in channels if channel} == on_air
    bare = [steak.steak for steak in source.scenario.steaks if steak.probe is None]
    assert [steak.steak for steak in aired.header.steaks if steak.channel is None] == bare
