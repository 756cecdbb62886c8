"""One connection to one probe, from connect to the end of the link: bleak's client, driven."""

from __future__ import annotations

import asyncio
import contextlib
from collections.abc import Awaitable, Callable, Mapping
from contextlib import AbstractAsyncContextManager
from dataclasses import dataclass
from random import Random

from bleak import BleakClient
from bleak.backends.characteristic import BleakGATTCharacteristic
from bleak.backends.device import BLEDevice

from pullcall.clock import Clock
from pullcall.sources.age import Age
from pullcall.sources.bluetooth.plan import Found, Missing, Plan, Subscription, plan
from pullcall.sources.bluetooth.recognise import full_uuid
from pullcall.sources.bluetooth.why import Strays, why
from pullcall.sources.decoding import Refusal, Temperature, decode_battery
from pullcall.sources.layout import Layout
from pullcall.sources.link import Link
from pullcall.sources.timings import Timings

_USER_DESCRIPTION = full_uuid(0x2901)

#: Called with the link and what one packet held (channel number to value), or its refusal.
Deliver = Callable[[Link, Mapping[int, Temperature] | Refusal], None]


@dataclass(frozen=True, slots=True)
class Shared:
    """What all keepers of one adapter have in common; ``life`` is the clock of the machine.

    One link is made at a time (``connecting``). Devices that have never sent a temperature take
    turns among themselves (``unproven``), so that a probe waits for one of them at most.
    """

    adapter: str
    timings: Timings
    life: Clock
    connecting: asyncio.Lock
    unproven: asyncio.Lock
    strays: Strays
    random: Random
    deliver: Deliver
    battery: Callable[[str], Awaitable[int | None]]


class LinkEndedError(Exception):
    """The link cannot go on. ``silent``: it stands, but nothing has come for too long."""

    def __init__(self, reason: str, *, silent: bool = False) -> None:
        super().__init__(reason)
        self.silent = silent


class NothingToReadError(Exception):
    """The connected device lacks what was asked for; the text lists what it has."""


class Attempt:
    """One connection, from connect to the end of the link."""

    def __init__(
        self,
        device: BLEDevice,
        link: Link,
        layout: Layout | None,
        shared: Shared,
        heard: asyncio.Event,
    ) -> None:
        self._device = device
        self._link = link
        self._layout = layout
        self._shared = shared
        self._heard = heard
        self._dropped = asyncio.Event()
        self._closing: asyncio.Task[None] | None = None
        self.has_streamed = False
        self._client = BleakClient(
            device,
            disconnected_callback=lambda _client: self._dropped.set(),
            timeout=shared.timings.connect_s,
            bluez={"adapter": shared.adapter},
        )

    async def run(self) -> None:
        """Stream until the link ends.

        :raises LinkEndedError: always, with the reason, unless cancelled.
        :raises NothingToReadError: the device has nothing to subscribe to.
        """
        try:
            await self._connect()
            await self._stream()
        except (LinkEndedError, NothingToReadError):
            raise
        except Exception as error:
            # Whatever bleak or the bus raises here ends this link and nothing else.
            raise LinkEndedError(why(error, self._device.address)) from error
        finally:
            # Not awaited: after a restart of the service the answer may never come.
            self._closing = self._shared.strays.start(self._close())

    async def closed(self) -> None:
        """Wait until the link is closed (its limit is its own)."""
        if self._closing is not None:
            await asyncio.wait({self._closing})

    async def unpair(self) -> None:
        """Have the service forget the device. Errors mean that it is forgotten already."""
        with contextlib.suppress(Exception):
            await self._shared.strays.within(
                self._shared.timings.disconnect_s, self._client.unpair()
            )

    async def _connect(self) -> None:
        async with self._turn(), self._shared.connecting:
            self._link.is_connecting()
            self._heard.clear()
            await self._shared.strays.within(self._shared.timings.connect_s, self._client.connect())
        # The change of state is told like an advert; it is none.
        self._heard.clear()

    def _turn(self) -> AbstractAsyncContextManager[None]:
        return contextlib.nullcontext() if self._link.is_proven else self._shared.unproven

    async def _stream(self) -> None:
        chosen = plan(_found(self._client), self._layout)
        if isinstance(chosen, Missing):
            raise NothingToReadError(chosen.reason)
        self._link.has_connected(self._now(), chosen.channels)
        for subscription in chosen.subscriptions:
            await self._subscribe(subscription)
        await self._read_battery(chosen)
        await self._read_labels(chosen)
        await self._watch([one for one in chosen.subscriptions if not one.found.is_pushed])

    async def _subscribe(self, subscription: Subscription) -> None:
        if not subscription.found.is_pushed:
            return

        def take(_sender: BleakGATTCharacteristic, data: bytearray) -> None:
            self._take(subscription, bytes(data))

        # By object: two characteristics of one device may share their UUID.
        characteristic = self._characteristic(subscription.found)
        await self._shared.strays.within(
            self._shared.timings.connect_s, self._client.start_notify(characteristic, take)
        )

    async def _watch(self, polled: list[Subscription]) -> None:
        timings = self._shared.timings
        next_poll = self._now()
        while True:
            with contextlib.suppress(TimeoutError):
                async with asyncio.timeout(timings.tick_s):
                    await self._dropped.wait()
            if self._dropped.is_set():
                self._heard.clear()
                raise LinkEndedError("the link dropped")
            if self._link.judge(self._now()) is Age.RECONNECT:
                raise LinkEndedError("connected, but it sent nothing; connecting anew", silent=True)
            if polled and self._now() >= next_poll:
                next_poll = self._now() + timings.poll_s
                await self._poll(polled)

    async def _poll(self, polled: list[Subscription]) -> None:
        for subscription in polled:
            data = await self._read(subscription.found)
            self._take(subscription, data)

    async def _read(self, found: Found) -> bytes:
        work = self._client.read_gatt_char(self._characteristic(found))
        return bytes(await self._shared.strays.within(self._shared.timings.read_s, work))

    def _take(self, subscription: Subscription, data: bytes) -> None:
        if self._closing is not None:
            return  # a client that is being dropped may still be told of its successor's values
        self.has_streamed = True
        self._shared.deliver(self._link, subscription.read(data))

    async def _read_battery(self, chosen: Plan) -> None:
        """Battery is a comfort: without it the probe is used all the same."""
        with contextlib.suppress(Exception):
            if chosen.battery is None:
                self._link.battery_percent = await self._shared.battery(
                    self._device.details["path"]
                )
                return
            if chosen.battery.is_readable:
                self._take_battery(await self._read(chosen.battery))
            if chosen.battery.is_pushed:
                characteristic = self._characteristic(chosen.battery)
                work = self._client.start_notify(
                    characteristic, lambda _sender, data: self._take_battery(bytes(data))
                )
                await self._shared.strays.within(self._shared.timings.read_s, work)

    def _take_battery(self, data: bytes) -> None:
        percent = decode_battery(data)
        if not isinstance(percent, Refusal):
            self._link.battery_percent = percent

    async def _read_labels(self, chosen: Plan) -> None:
        for subscription in chosen.subscriptions:
            characteristic = self._characteristic(subscription.found)
            descriptor = characteristic.get_descriptor(_USER_DESCRIPTION)
            if descriptor is None:
                continue
            with contextlib.suppress(Exception):
                work = self._client.read_gatt_descriptor(descriptor)
                text = bytes(await self._shared.strays.within(self._shared.timings.read_s, work))
                for number in subscription.channels:
                    label = text.decode("utf-8", "replace").strip("\0 ")
                    self._link.is_labelled(number, label)

    def _characteristic(self, found: Found) -> BleakGATTCharacteristic:
        characteristic = self._client.services.get_characteristic(found.handle)
        assert characteristic is not None
        return characteristic

    async def _close(self) -> None:
        limit = self._shared.timings.disconnect_s
        with contextlib.suppress(Exception):
            await self._shared.strays.within(limit, self._client.disconnect())

    def _now(self) -> float:
        return self._shared.life.monotonic()


def _found(client: BleakClient) -> list[Found]:
    return [
        Found(
            handle=one.handle,
            uuid=one.uuid.lower(),
            service_handle=one.service_handle,
            service=one.service_uuid.lower(),
            properties=frozenset(one.properties),
        )
        for one in client.services.characteristics.values()
    ]
