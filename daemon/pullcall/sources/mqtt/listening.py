"""Listens at the broker, for ever, and tells the daemon what came."""

from __future__ import annotations

import asyncio
import secrets
from collections.abc import Callable
from typing import Any

import aiomqtt

from pullcall.bus.connection import connected, is_refused
from pullcall.bus.patience import Patience
from pullcall.clock import Clock
from pullcall.errors import BrokerError, PullcallError
from pullcall.sources.mqtt.gathering import Gathering
from pullcall.sources.mqtt.options import MqttOptions
from pullcall.sources.mqtt.told import Told, WayTold, fitting

#: Messages that may wait to be read. Few, for what waits grows old; what is beyond is dropped.
_MOST_WAITING = 200
#: What was heard is told this often, at most, seconds: of each channel the latest value.
_PACE_S = 0.1
#: How the way is, is told this often, seconds.
_BEAT_S = 1.0
_LOOKED_FOR = "The broker is being looked for."


class Listening:
    """One connection after another; ``tell`` takes what the daemon is to know."""

    def __init__(self, options: MqttOptions, clock: Clock, tell: Callable[[Told], None]) -> None:
        self._options = options
        self._clock = clock
        self._tell = tell
        self._gathering = Gathering(options.probes, options.named)
        self._name = f"pullcall-in-{secrets.token_hex(4)}"
        self._note = _LOOKED_FOR
        self._refused: dict[str, str] = {}
        self._news = asyncio.Event()

    async def run(self) -> None:
        """Listen until cancelled."""
        async with asyncio.TaskGroup() as tasks:
            tasks.create_task(self._follow_for_ever(), name="follow")
            tasks.create_task(self._tell_news(), name="news")
            tasks.create_task(self._beat(), name="beat")

    async def _follow_for_ever(self) -> None:
        patience = Patience()
        while True:
            began = self._clock.monotonic()
            try:
                await self._follow()
            except PullcallError as exc:
                self._say(str(exc))
            wait_s = patience.next(self._clock.monotonic() - began)
            await self._clock.sleep_until(self._clock.monotonic() + wait_s)

    async def _follow(self) -> None:
        """One connection, for as long as it lasts. Raises BrokerError, ConfigError."""
        waiting = _MOST_WAITING
        async with connected(self._options.broker, self._name, most_waiting=waiting) as client:
            self._refused.clear()
            for probe in self._options.probes:
                for code in await client.subscribe(probe.topic, qos=0):
                    self._judge(probe.name, probe.topic, code)
            self._say("")
            async for message in client.messages:
                self._take(message)
        raise BrokerError("The broker ended the connection; it is tried again.")

    def _judge(self, name: str, topic: str, code: Any) -> None:
        if is_refused(code):
            self._refused[name] = fitting(
                f"The broker does not let this site read {topic}: allow its user to."
            )

    def _take(self, message: aiomqtt.Message) -> None:
        if isinstance(message.payload, bytes | bytearray):
            topic, payload = str(message.topic), bytes(message.payload)
            now = self._clock.monotonic()
            self._gathering.take(topic, payload, is_kept=bool(message.retain), now=now)
            self._news.set()

    async def _tell_news(self) -> None:
        """At once where nothing came for a while; then the latest at an even pace."""
        while True:
            await self._news.wait()
            self._news.clear()
            for told in self._gathering.drain():
                self._tell(told)
            await self._clock.sleep_until(self._clock.monotonic() + _PACE_S)

    async def _beat(self) -> None:
        while True:
            self._say(self._note)
            await self._clock.sleep_until(self._clock.monotonic() + _BEAT_S)

    def _say(self, note: str) -> None:
        self._note = note
        troubles = self._gathering.troubles(self._clock.monotonic())
        self._tell(WayTold(fitting(note), troubles | self._refused))
