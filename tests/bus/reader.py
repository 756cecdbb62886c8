"""Who reads along at a real broker, for tests."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from dataclasses import dataclass
from typing import Any

from pullcall.bus.channels import place_of
from pullcall.bus.connection import connected
from tests.broker import Broker

#: Everything here is over in moments; a machine under load may take longer.
PATIENCE_S = 60.0


@dataclass(frozen=True, slots=True)
class Heard:
    """One message, and what it says of itself."""

    topic: str
    payload: bytes
    user: dict[str, str]
    was_retained: bool


class Reader:
    """``heard`` is all that came, ``kept`` what a broker retains, by the topic below the site."""

    def __init__(self) -> None:
        self.heard: list[Heard] = []
        self.kept: dict[str, bytes] = {}
        self._news = asyncio.Event()

    def take(self, message: Any) -> None:
        topic = str(message.topic)
        user = dict(getattr(message.properties, "UserProperty", []))
        place = place_of(topic)
        if place is not None:
            self.heard.append(Heard(topic, message.payload, user, message.retain))
            self._keep(topic.split("/", 3)[3], message.payload, place.channel.retained)
            self._news.set()

    async def until(self, holds: Callable[[], bool]) -> None:
        """Return once it holds, which is looked at whenever something comes."""
        async with asyncio.timeout(PATIENCE_S):
            while not holds():
                self._news.clear()
                await self._news.wait()

    def of(self, channel: str) -> list[Heard]:
        return [one for one in self.heard if one.topic.endswith(f"/{channel}")]

    def records(self) -> list[str]:
        return [one.payload.decode() for one in self.of("record")]

    def says(self, presence: str) -> bool:
        return f'"state":"{presence}"'.encode() in self.kept.get("presence", b"")

    def _keep(self, topic: str, payload: bytes, retained: bool) -> None:
        if retained and payload:
            self.kept[topic] = payload
        else:
            self.kept.pop(topic, None)


@asynccontextmanager
async def reading(broker: Broker) -> AsyncIterator[Reader]:
    """Someone who hears every site from now on, and first what is retained."""
    reader = Reader()
    async with connected(broker.options("archive"), "reader") as client:

        async def read() -> None:
            async for message in client.messages:
                reader.take(message)

        await client.subscribe("pullcall/1/#", qos=1)
        task = asyncio.create_task(read())
        try:
            yield reader
        finally:
            task.cancel()
            await asyncio.gather(task, return_exceptions=True)
