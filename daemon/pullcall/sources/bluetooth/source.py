"""The collector: one scan, a keeper for each connected probe, and recovery from restarts."""

from __future__ import annotations

import asyncio
import contextlib
import logging
from collections.abc import Mapping
from random import Random

from bleak.backends.device import BLEDevice

from pullcall.clock import Clock, RealClock
from pullcall.sources.bluetooth.attempt import Shared
from pullcall.sources.bluetooth.devices import Device, Devices
from pullcall.sources.bluetooth.keeper import Keeper
from pullcall.sources.bluetooth.options import BluetoothOptions
from pullcall.sources.bluetooth.radio import NO_ANSWER, NO_BUS, STUCK, Radio, Usable
from pullcall.sources.bluetooth.radio_watch import RadioWatch, watch_radio
from pullcall.sources.bluetooth.recognise import (
    Advert,
    AdvertReader,
    Recognised,
    recognise,
    services_to_adopt,
)
from pullcall.sources.bluetooth.scan import Scan
from pullcall.sources.bluetooth.why import Strays, why
from pullcall.sources.decoding import Refusal, Temperature
from pullcall.sources.link import Link, Phase
from pullcall.sources.sink import (
    AdapterState,
    AdapterStatus,
    ChannelReading,
    LinkCounts,
    ProbeStatus,
    Sink,
)

_log = logging.getLogger(__name__)

#: A probe that sends rubbish is logged at its first packet and at every so many more.
_LOG_EVERY = 100
_QUIET = "nothing new in its adverts: bring it closer, check its battery"
_GONE = "Bluetooth went away; it is sought anew by itself once that is back"


class BluetoothSource:
    """Reads every probe within reach until cancelled.

    Readings are stamped with ``clock`` at callback entry. How long a link may be silent is
    counted on ``life``, the machine's own clock, which a faster or recorded ``clock`` does not
    change. Nothing raises out of :meth:`run` but its cancellation.
    """

    def __init__(
        self, options: BluetoothOptions, clock: Clock, *, life: Clock | None = None
    ) -> None:
        self._options = options
        self._clock = clock
        self._life = life or RealClock()
        self._reader = AdvertReader(options)
        self._radio = Radio(options.adapter)
        self._strays = Strays()
        self._devices = Devices(options.timings)
        self._keepers: dict[str, tuple[Keeper, asyncio.Task[None]]] = {}
        self._status: AdapterStatus | None = None
        self._scan: Scan | None = None
        self._session_now: tuple[asyncio.TaskGroup, Shared] | None = None
        self._sessions = 0
        self._restarted_at: float | None = None
        self._sink: Sink | None = None
        self._random = Random()

    # What people see

    def probes(self) -> tuple[ProbeStatus, ...]:
        """Every channel heard so far, by address and number."""
        now = self._life.monotonic()
        return tuple(s for link in self._devices.links() for s in link.statuses(now))

    def links(self) -> tuple[LinkCounts, ...]:
        """Every device that is connected to, by address."""
        links = self._devices.links()
        return tuple(link.counts() for link in links if link.phase is not Phase.LISTENING)

    def adapter(self) -> AdapterStatus | None:
        """The adapter's state, or None before it has been looked for."""
        status = self._status
        if status is None or status.state is not AdapterState.OK:
            return status
        if self._scan is not None and self._scan.is_stuck:
            return AdapterStatus(status.name, AdapterState.STUCK, STUCK)
        since = self._restarted_at
        if since is None or self._life.monotonic() - since > self._options.timings.restarted_s:
            return status
        note = f"Bluetooth restarted (time {self._sessions - 1}); probes reconnect by themselves."
        return AdapterStatus(status.name, AdapterState.RESTARTED, note)

    # The life of the collector

    async def run(self, sink: Sink) -> None:
        """Deliver readings to ``sink`` until cancelled, then let every probe go."""
        self._sink = sink
        try:
            while True:
                try:
                    async with watch_radio(self._radio) as watch:
                        await self._follow(watch)
                except TimeoutError:
                    self._trouble(AdapterStatus(self._name(), AdapterState.STUCK, NO_ANSWER))
                except Exception as error:
                    _log.debug("no system bus: %r", error)
                    self._trouble(AdapterStatus(self._name(), AdapterState.MISSING, NO_BUS))
                await asyncio.sleep(self._options.timings.look_again_s)
        finally:
            await self._strays.settle(self._options.timings.disconnect_s)

    async def _follow(self, watch: RadioWatch) -> None:
        """Serve one adapter after another, as they come and go."""
        while True:
            chosen = self._radio.choose()
            if isinstance(chosen, AdapterStatus):
                self._trouble(chosen)
                await watch.changed(self._options.timings.look_again_s)
                await watch.refresh()
                continue
            await self._serve(chosen, watch)

    async def _serve(self, adapter: Usable, watch: RadioWatch) -> None:
        """Collect through ``adapter`` for as long as it lives."""
        session = asyncio.create_task(self._session(adapter, watch), name="bluetooth session")
        try:
            while self._radio.still_lives(adapter) and not session.done():
                changed = asyncio.ensure_future(watch.changed(self._options.timings.look_again_s))
                await asyncio.wait({session, changed}, return_when=asyncio.FIRST_COMPLETED)
                changed.cancel()
                watch.check()
        finally:
            session.cancel()
            await asyncio.wait({session})
            self._session_ended()
        if not session.cancelled() and (error := session.exception()):
            self._trouble(self._failed(adapter, error))
            await watch.changed(self._options.timings.look_again_s)

    async def _session(self, adapter: Usable, watch: RadioWatch) -> None:
        timings = self._options.timings
        scan = Scan(adapter.name, timings, self._life, self._strays, self._heard)
        started = asyncio.Event()
        shared = Shared(
            adapter=adapter.name,
            timings=timings,
            life=self._life,
            connecting=asyncio.Lock(),
            unproven=asyncio.Lock(),
            strays=self._strays,
            random=self._random,
            deliver=self._deliver,
            battery=watch.battery,
        )
        async with asyncio.TaskGroup() as tasks:
            self._session_now = (tasks, shared)
            tasks.create_task(scan.run(self._is_advert_wanted, started), name="bluetooth scan")
            await started.wait()
            self._session_started(adapter, scan)
            await self._adopt(scan)

    def _session_started(self, adapter: Usable, scan: Scan) -> None:
        self._scan = scan
        self._sessions += 1
        self._status = AdapterStatus(adapter.name, AdapterState.OK)
        if self._sessions > 1:
            self._restarted_at = self._life.monotonic()
        for link in self._devices.links():
            link.may_be_heard()

    def _session_ended(self) -> None:
        """Forget every device: what was known of it is void, and only a new advert counts."""
        self._session_now = None
        self._scan = None
        for link in self._devices.links():
            link.is_cut_off(_GONE)
        self._keepers.clear()

    async def _adopt(self, scan: Scan) -> None:
        """Take over links that a crashed daemon left behind; only at the start."""
        if self._sessions > 1:
            return
        with contextlib.suppress(Exception):
            for device, advert in await scan.connected(services_to_adopt(self._options)):
                self._heard(device, advert)

    # What is heard

    def _heard(self, heard: BLEDevice, advert: Advert) -> None:
        how = recognise(advert, self._options)
        if how is None or self._session_now is None:
            return
        device = self._devices.get(advert.address) or self._new(advert, how)
        if device is None:
            return
        device.heard_at = self._life.monotonic()
        device.link.was_heard(advert.name, advert.rssi_dbm)
        if how.connects:
            self._keeper(device.link, how, *self._session_now).hears(heard)
        else:
            self._read_advert(device, advert, how)

    def _new(self, advert: Advert, how: Recognised) -> Device | None:
        """Follow one more device; None where there are too many, and none makes way."""
        gone = self._devices.make_room(self._life.monotonic())
        if gone in self._keepers:
            self._keepers.pop(gone)[1].cancel()
        if not self._devices.has_room:
            return None
        timings = self._options.timings
        link = Link(advert.address, how.standard, timings, connects=how.connects, quiet=_QUIET)
        return self._devices.add(link)

    def _keeper(
        self, link: Link, how: Recognised, tasks: asyncio.TaskGroup, shared: Shared
    ) -> Keeper:
        if link.address not in self._keepers:
            made = Keeper(link, how.layout, shared)
            task = tasks.create_task(made.run(), name=f"probe {link.address}")
            self._keepers[link.address] = made, task
        keeper = self._keepers[link.address][0]
        keeper.layout = how.layout  # a name may come with a later advert than the service
        return keeper

    def _read_advert(self, device: Device, advert: Advert, how: Recognised) -> None:
        link, freshness = device.link, device.freshness
        data = self._reader.data_of(advert, how)
        if data is None or not freshness.has_changed(data):
            return
        read = self._reader.read(link.address, data, how)
        if isinstance(read, Refusal):
            self._deliver(link, read)
        elif freshness.is_new_packet(read.packet_id):
            if read.battery_percent is not None:
                link.battery_percent = read.battery_percent
            self._deliver(link, read.temperatures)

    def _deliver(self, link: Link, values: Mapping[int, Temperature] | Refusal) -> None:
        at, now = self._clock.monotonic(), self._life.monotonic()
        if isinstance(values, Refusal):
            if link.refused % _LOG_EVERY == 0:
                _log.warning("%s: a packet was refused: %s", link.address, values.reason)
            link.has_refused(values.reason)
            return
        for number, value in values.items():
            celsius = link.has_value(number, value, now)
            if celsius is not None and self._sink is not None:
                self._sink.reading(ChannelReading(link.channel(number), celsius, at))

    # States

    def _is_advert_wanted(self) -> bool:
        now = self._life.monotonic()
        links = self._devices.links()
        return not links or not all(link.is_streaming(now) for link in links)

    def _trouble(self, status: AdapterStatus) -> None:
        if status != self._status:
            _log.warning("%s: %s", status.name, status.note)
        self._status = status

    def _failed(self, adapter: Usable, error: BaseException) -> AdapterStatus:
        cause = error.exceptions[0] if isinstance(error, BaseExceptionGroup) else error
        note = f"Scanning could not start ({why(cause)}); it is tried again by itself."
        return AdapterStatus(adapter.name, AdapterState.STUCK, note)

    def _name(self) -> str:
        return self._options.adapter or "bluetooth"
