"""The collector under faults in any order, on unmodified bleak and a virtual adapter.

Links drop, hang and fall silent; the adapter, the service and the bus go and come; packets are
malformed, told twice and sent again; others pretend to be our probes, and a second program
interferes. Whatever the order, what ``witness.py`` and ``trial.py`` check holds at every moment,
and once the faults end every probe streams again.
"""

from __future__ import annotations

import asyncio
import gc
import os
from collections.abc import Iterator
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, Phase, given, note, settings

from pullcall.simulators.bluetooth.probes import Probe, Standard
from pullcall.sources.bluetooth.devices import MOST_DEVICES
from tests.sources.bluetooth.faults.air import LEFT
from tests.sources.bluetooth.faults.scripts import SCRIPTS
from tests.sources.bluetooth.faults.trial import Step, trial
from tests.tools import require_tool

pytestmark = [pytest.mark.integration, pytest.mark.timeout(3600)]

#: Scripts in the suite; PULLCALL_FAULT_SCRIPTS asks for more, which are new ones each time.
_MORE = os.environ.get("PULLCALL_FAULT_SCRIPTS")


@pytest.fixture(autouse=True, scope="module")
def collected_here() -> Iterator[None]:
    """Have what these loops leave behind collected between them alone.

    bleak may leave the error of a dead bus in a future, of which asyncio tells when it is
    collected: that must not happen while Python parses something (CPython 3.11 then stops with
    "AST constructor recursion depth mismatch").
    """
    require_tool("dbus-daemon", "dbus")
    gc.disable()
    yield
    gc.enable()


async def _play(script: list[Step]) -> None:
    async with trial() as here:
        try:
            await here.all_stream()
            await here.play(script)
            await here.recover()
        finally:
            await here.end()


def test_strangers_in_hundreds_cost_little_and_keep_no_probe_out() -> None:
    asyncio.run(_flooded())
    gc.collect()


async def _flooded() -> None:
    async with trial() as here:
        await here.all_stream()
        kinds = (Standard.HEALTH_THERMOMETER, Standard.BTHOME)
        strangers = [
            Probe(f"0E:00:00:00:00:{n:02X}", "Left", kinds[n % 2], start_c=54.3) for n in range(200)
        ]
        for stranger in strangers:
            here.air.adapter.add(stranger)
            here.air.adapter.hang_connect(stranger.address)
            await asyncio.sleep(0.005)  # the bus takes only so much at once
        await here.until(lambda: len(here.devices()) == MOST_DEVICES)
        for _ in range(2):
            here.air.adapter.drop(LEFT)
            await here.all_stream()
        assert len(here.devices()) == MOST_DEVICES
        for stranger in strangers:
            here.air.adapter.remove(stranger.address)
            await asyncio.sleep(0.005)
        here.air.adapter.add(replace(strangers[0], address="02:00:00:00:00:09"))
        await here.until(lambda: "02:00:00:00:00:09/1" in here.witness.heard)
        await here.end()


@settings(
    max_examples=int(_MORE or 20),
    derandomize=_MORE is None,
    database=None,
    suppress_health_check=list(HealthCheck),
    print_blob=False,
    phases=(Phase.generate,) if os.environ.get("NOSHRINK") else tuple(Phase),
)
@given(SCRIPTS)
def test_faults_in_any_order(script: list[Step]) -> None:
    note("; ".join(map(str, script)))
    try:
        asyncio.run(_play(script))
    finally:
        gc.collect()
