"""The adapter as a process of its own, and the channel that steers it."""

from __future__ import annotations

import asyncio
import json
import sys
from asyncio.subprocess import PIPE

import pytest

from pullcall.errors import RefusedError, SourceError
from pullcall.simulators.bluetooth.control import Control
from pullcall.simulators.bluetooth.probes import Probe, Standard
from tests.process import running
from tests.simulators.bluetooth.client import DEADLINE_S, ENVIRONMENT, HEALTH, scan
from tests.tools import require_tool

pytestmark = pytest.mark.integration


async def test_a_probe_can_be_added_while_the_adapter_runs(control: Control) -> None:
    late = Probe("02:00:00:00:00:09", "late", Standard.COOKWARE, advertise_s=0.05)
    await control.add(late)
    async with scan() as heard:
        assert (await heard.device(late)).name == "late"


async def test_an_act_on_an_unknown_probe_is_refused_with_the_reason(control: Control) -> None:
    with pytest.raises(RefusedError, match="no virtual probe has the address"):
        await control.drop("02:00:00:00:00:FF")
    with pytest.raises(RefusedError, match="it has 1, 2, 3"):
        await control.set(ENVIRONMENT.address, "4", 20.0)
    with pytest.raises(RefusedError, match="choose another"):
        await control.add(HEALTH)
    with pytest.raises(RefusedError, match="a request needs"):
        await control.request("burn")


async def test_the_process_ends_with_the_program_that_started_it() -> None:
    require_tool("dbus-daemon", "dbus")
    command = (sys.executable, "-m", "pullcall.simulators.bluetooth", "--until-stdin-closes")
    async with running(*command, stdin=PIPE, stdout=PIPE) as process:
        assert process.stdin is not None
        assert process.stdout is not None
        ready = json.loads(await process.stdout.readline())
        process.stdin.close()
        async with asyncio.timeout(DEADLINE_S):
            assert await process.wait() == 0
    with pytest.raises(SourceError, match="no virtual adapter listens"):
        async with Control.open(ready["control"]):
            pass
    with pytest.raises(OSError, match=r"No such file|refused"):
        await asyncio.open_unix_connection(ready["bus"].removeprefix("unix:path=").split(",")[0])
