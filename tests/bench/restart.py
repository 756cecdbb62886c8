"""From a kill to the first sound: how soon a live alarm is heard again.

The daemon is started again at once, as a service manager does after its RestartSec. Sounds go to
a folder, where they are as soon as a loudspeaker's player would have begun.
"""

from __future__ import annotations

import asyncio
import tempfile
import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from statistics import median

from pullcall.clock import boot_id
from pullcall.events import CookHeader, Input, Mark, MarkKind, Reading, SteakSettings
from pullcall.log.entries import Entry
from pullcall.log.store import Store
from tests.integration.daemon import daemon, free_port

#: How long the cook has run when the daemon is killed, hours; and how often that is done.
_COOKS = ((0.1, 7), (3.0, 3))
_LEFT, _RIGHT = "02:00:00:00:01:01/1", "02:00:00:00:01:02/1"
#: On the grate for so long, rising from 35 C over the pull temperature of 53.9 C.
_ON_S, _RISE_C_PER_S = 300.0, 0.067
_PERIOD_S = 0.5
_TARGET_S = 2.0
_PATIENCE_S = 60.0


async def measure() -> str:
    """Seconds from SIGKILL to the first sound: the median, and the longest."""
    told = []
    for hours, times in _COOKS:
        with tempfile.TemporaryDirectory() as folder:
            found = await _of_a_cook(Path(folder), hours, times)
        told.append(
            f"a cook of {hours:g} h {median(found):.2f} s, at most {max(found):.2f} s ({times} x)"
        )
    what = f"SIGKILL to the first sound of a live alarm (target <= {_TARGET_S:g} s)"
    return f"{what}: {'; '.join(told)}"


async def _of_a_cook(folder: Path, hours: float, times: int) -> list[float]:
    calls, config, log = folder / "calls", folder / "pullcall.toml", folder / "cooks.db"
    steaks = "".join(
        f'[[steak]]\nname = "{name}"\nprobe = "{channel}"\n'
        for name, channel in (("left", _LEFT), ("right", _RIGHT))
    )
    config.write_text(f'[loudspeaker]\nfolder = "{calls}"\n{steaks}')
    _write_cook(log, hours * 3600.0)
    arguments = ("serve", "--config", str(config), "--log", str(log))
    port = free_port()
    found: list[float] = []
    for number in range(times + 1):
        before, began = _sounds(calls), time.perf_counter()
        sounded = asyncio.create_task(_first_sound(calls, before))
        async with daemon(*arguments, port=port) as site:
            heard = await sounded - began
            site.kill()
            await site.process.wait()
        if number:  # the first start came after no kill
            found.append(heard)
    return found


async def _first_sound(calls: Path, before: set[str]) -> float:
    """When a sound was made that was not there before."""
    async with asyncio.timeout(_PATIENCE_S):
        while not _sounds(calls) - before:  # noqa: ASYNC110 - the folder has no event for it
            await asyncio.sleep(0.005)
    return time.perf_counter()


def _sounds(calls: Path) -> set[str]:
    return {path.name for path in calls.glob("*.wav")}


def _write_cook(log: Path, lasts_s: float) -> None:
    """A cook that has run so long, with two probes, and both steaks over their pull."""
    zero, wall = time.monotonic() - lasts_s, datetime.now(UTC)
    began = (wall - timedelta(seconds=lasts_s)).isoformat(timespec="milliseconds")
    steaks = (SteakSettings("left", channel=_LEFT), SteakSettings("right", channel=_RIGHT))
    with Store(log) as store:
        store.begin(CookHeader("restart", began, steaks), boot_id(), zero)
        store.write([Entry("restart", event) for event in _inputs(lasts_s)])


def _inputs(lasts_s: float) -> Iterator[Input]:
    on_t = lasts_s - _ON_S
    for number in range(int(lasts_s / _PERIOD_S)):
        t = number * _PERIOD_S
        if t == on_t:
            yield Mark(t, None, MarkKind.ON, "on")
        celsius = 35.0 + max(0.0, t - on_t) * _RISE_C_PER_S
        yield Reading(t, "left", celsius, _LEFT)
        yield Reading(t, "right", celsius - 1.0, _RIGHT)
