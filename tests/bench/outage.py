"""What is missing after an outage of the broker, with real daemons and their logs.

Two sites whose probes are heard through the Bluetooth code and a virtual adapter, steaks on, a
spot tapped in each second. The broker is killed and keeps nothing on its disk; somebody who keeps
an archive listens all the time. Records and calls that came are held against each site's log.
"""

from __future__ import annotations

import asyncio
import json
import tempfile
import time
from collections import Counter
from collections.abc import AsyncIterator
from contextlib import AsyncExitStack, asynccontextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import aiomqtt

from pullcall.bus.call_queue import lasts_s
from pullcall.bus.channels import CALL, RECORD, place_of
from pullcall.bus.connection import connected
from pullcall.bus.following import NOTHING
from pullcall.bus.options import BrokerOptions
from pullcall.errors import BrokerError
from pullcall.log.store import Store
from pullcall.simulators.bluetooth.probes import Probe, Standard
from pullcall.simulators.bluetooth.process import adapter_process
from pullcall.simulators.open_broker import OpenBroker, open_broker
from tests.integration.daemon import Daemon, daemon, free_port

SITES = ("north", "south")
#: Before the outage and, at most, after it until all is there, seconds.
_BEFORE_S, _AFTER_S = 15.0, 60.0
_ALL = 10**6
_STARTS_C, _HURRY_C = 45.0, 0.1
_SETTLING_S = 3.0
#: When the outage begins the first turn, at 120 s, is twenty seconds off.
_ON_AGO_S = 85.0
#: Records by the cook's id and their number, calls by their id and moment.
Json = dict[str, Any]
Numbers = set[tuple[str, int]]
Announced = dict[tuple[str, float], Json]


@dataclass
class Archive:
    """What somebody who listens all the time got of each site."""

    records: dict[str, Counter[tuple[str, int]]] = field(default_factory=dict)
    late: int = 0
    calls: dict[str, set[tuple[str, float]]] = field(default_factory=dict)

    def take(self, message: aiomqtt.Message) -> None:
        """Take one message."""
        place = place_of(str(message.topic))
        user = dict(getattr(message.properties, "UserProperty", []))
        if place is None:
            return
        if place.channel is RECORD:
            number = user["epoch"], int(user["seq"])
            self.records.setdefault(place.site, Counter())[number] += 1
            self.late += user.get("late") == "1"
        elif place.channel is CALL:
            call = json.loads(bytes(message.payload))
            self.calls.setdefault(place.site, set()).add((call["id"], call["t"]))


async def outage(seconds: float) -> list[str]:
    """Kill the broker for so long in the middle of two cooks."""
    async with AsyncExitStack() as stack:
        folder = Path(stack.enter_context(tempfile.TemporaryDirectory()))
        broker = stack.enter_context(open_broker(folder))
        archive = Archive()
        options = BrokerOptions("127.0.0.1", broker.port, tls=False)
        listening = asyncio.create_task(_listen(options, archive))
        stack.callback(listening.cancel)
        sites = [await stack.enter_async_context(_site(name, folder, broker)) for name in SITES]
        tapping = asyncio.create_task(_tap(sites))
        stack.callback(tapping.cancel)
        await asyncio.sleep(_BEFORE_S)
        broker.kill()
        await asyncio.sleep(seconds)
        logged = {site: _records(folder / f"{site}.db") for site in SITES}
        calls = {site: _calls(folder / f"{site}.db") for site in SITES}
        broker.start()
        after_s = await _until_all(logged, archive, time.monotonic())
        await asyncio.sleep(_SETTLING_S)
        return [_words(logged, calls, archive, seconds, after_s)]


def _words(
    logged: dict[str, Numbers],
    calls: dict[str, Announced],
    archive: Archive,
    seconds: float,
    after_s: float | None,
) -> str:
    missing = sum(len(logged[site] - archive.records[site].keys()) for site in SITES)
    twice = sum(sum(n - 1 for n in archive.records[site].values()) for site in SITES)
    unheard = [
        call
        for site in SITES
        for key, call in calls[site].items()
        if key not in archive.calls.get(site, set())
    ]
    # A site is back at the broker a little before all of its records are.
    misleading = sum(call["left_s"] <= (after_s or 0.0) for call in unheard)
    when = "not all came in time" if after_s is None else f"all there {after_s:.1f} s after it"
    return (
        f"broker gone for {seconds:.0f} s, two daemons: {missing} of "
        f"{sum(map(len, logged.values()))} records missing, {archive.late} came late, {twice} "
        f"twice, {when}; {len(unheard)} of {sum(map(len, calls.values()))} calls did not come, "
        f"{misleading} of those because they had expired before their site was back"
    )


async def _until_all(logged: dict[str, Numbers], archive: Archive, since: float) -> float | None:
    """Seconds until nothing of it is missing; None where something still is at the end."""
    while (waited_s := time.monotonic() - since) < _AFTER_S:
        if all(logged[site] <= archive.records[site].keys() for site in SITES):
            return waited_s
        await asyncio.sleep(0.1)
    return None


def _records(log: Path) -> Numbers:
    with Store(log, reads_only=True) as store:
        return {
            (entry.id, number)
            for entry in store.cooks()
            for number, _ in store.records_after(entry.id, NOTHING, _ALL)
        }


def _calls(log: Path) -> Announced:
    """Every call by its id and moment, with how long it would be true from now, ``left_s``."""
    with Store(log, reads_only=True) as store:
        (cook,) = store.cooks()
        calls = [json.loads(line) for line in store.call_lines(cook.id)]
        now = max(json.loads(line).get("t", 0.0) for line in store.lines(cook.id))
    return {
        (call["id"], call["t"]): call | {"left_s": lasts_s(call, now - call["t"], 1.0)}
        for call in calls
    }


async def _listen(options: BrokerOptions, archive: Archive) -> None:
    while True:
        try:
            async with connected(options, "archive") as client:
                await client.subscribe([(one.filter(), 1) for one in (RECORD, CALL)])
                async for message in client.messages:
                    archive.take(message)
        except BrokerError:
            await asyncio.sleep(0.02)  # sooner than any site: what is not retained is gone


async def _tap(sites: list[Daemon]) -> None:
    for site in sites:
        await site.post("marks", mark="on", ago_s=_ON_AGO_S)
    celsius = _STARTS_C
    while True:
        for site in sites:
            await site.post("spots", celsius=round(celsius, 1), steak="left")
        celsius = min(celsius + _HURRY_C, 60.0)
        await asyncio.sleep(1.0)


@asynccontextmanager
async def _site(name: str, folder: Path, broker: OpenBroker) -> AsyncIterator[Daemon]:
    probes = [
        Probe(
            f"02:00:00:00:0{SITES.index(name) + 3}:0{k}", steak, Standard.COOKWARE, interval_s=0.5
        )
        for k, steak in ((1, "left"), (2, "right"))
    ]
    steaks = "".join(f'[[steak]]\nname = "{p.name}"\nprobe = "{p.address}/1"\n' for p in probes)
    config = folder / f"{name}.toml"
    config.write_text(f"{broker.toml(name)}[loudspeaker]\nenabled = false\n{steaks}")
    log = folder / f"{name}.db"
    command = ("serve", "--config", str(config), "--log", str(log))
    async with (
        adapter_process(probes) as adapter,
        daemon(*command, port=free_port(), bus=adapter.bus) as site,
    ):
        yield site
