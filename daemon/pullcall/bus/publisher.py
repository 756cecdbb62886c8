"""One way out: connects for ever, and says there what a voice has to say."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable, Coroutine
from typing import Any

import aiomqtt

from pullcall.bus.connection import ClosedError, connected, expiring, last_will
from pullcall.bus.options import BrokerOptions
from pullcall.bus.patience import Patience
from pullcall.bus.publication import Leaving, Publication, Voice
from pullcall.bus.status import BusState
from pullcall.clock import Clock
from pullcall.errors import BrokerError, PullcallError
from pullcall.first_of import first_of

#: Sends a message, and returns once the broker has it (QoS 0: once it is on its way).
Send = Callable[[Publication], Awaitable[None]]
#: Says something for ever beside the voice.
Beside = Callable[[Send], Coroutine[Any, Any, None]]

#: So much of the state goes before all else: enough for every topic once, for there is no end to
#: what changes meanwhile.
_FIRST = 30
#: A connection that the broker closed within this time was a short one, seconds: another that
#: comes by the same name is let in instead, and is back after its own wait, up to ten seconds.
_SHORT_S = 15.0
#: So many short ones in a row are no chance. A broker that is started again is away in between.
_SHORT_ONES = 3
_RIVAL = (
    "It let this site in and soon closed the connection, time and again: see whether another "
    "daemon publishes by the same [mqtt] site."
)
#: A wait for what may become due is never longer, seconds.
_LONGEST_WAIT_S = 3600.0


class Publisher:
    """``name`` is its id on the broker. What is said ``beside`` begins after the state as it is.

    A broker that sends anything is hung up on: nothing was asked of it.
    """

    def __init__(
        self, broker: BrokerOptions, name: str, voice: Voice, clock: Clock, *beside: Beside
    ) -> None:
        self.state, self.note = BusState.CONNECTING, ""
        self.connections = self.published = 0
        self._broker = broker
        self._name = name
        self._voice = voice
        self._clock = clock
        self._beside = beside
        self._short_ones = 0
        self._news = asyncio.Event()
        self._leaving: asyncio.Future[Leaving] = asyncio.get_running_loop().create_future()

    def poke(self) -> None:
        """The voice may have something new to say."""
        self._news.set()

    def leave(self, how: Leaving) -> None:
        """Let :meth:`run` end, and the broker know why."""
        if not self._leaving.done():
            self._leaving.set_result(how)

    async def run(self) -> None:
        """Publish until told to leave; whatever the broker does, it is tried again."""
        patience = Patience()
        while not self._leaving.done():
            began = self._clock.monotonic()
            try:
                await self._converse()
            except PullcallError as exc:
                self._fail(exc, self._clock.monotonic() - began)
            wait_s = patience.next(self._clock.monotonic() - began)
            await asyncio.wait({self._leaving}, timeout=wait_s)

    def _fail(self, error: PullcallError, lasted_s: float) -> None:
        """A broker need not tell a site that another took its place: that it lets it in each time,
        and soon hangs up, is all there is to see."""
        was_let_in = self.state is BusState.OK
        is_short = was_let_in and lasted_s < _SHORT_S and isinstance(error, ClosedError)
        self._short_ones = self._short_ones + 1 if is_short else 0
        note = f"{error} {_RIVAL}" if self._short_ones >= _SHORT_ONES else str(error)
        self.state, self.note = BusState.FAILING, note

    async def _converse(self) -> None:
        will = self._voice.last_will()
        left = last_will(will.topic, will.payload, will.expires_s)
        async with connected(self._broker, self._name, left, most_waiting=1) as client:
            self.connections += 1
            await first_of(self._speak(client), self._refuse(client), self._leave(client))

    async def _speak(self, client: aiomqtt.Client) -> None:
        self._voice.begin()
        for _ in range(_FIRST):
            if not await self._say_next(client):
                break
        self.state, self.note = BusState.OK, ""

        async def send(message: Publication) -> None:
            await self._send(client, message)

        await first_of(self._say(client), *(say(send) for say in self._beside))

    async def _say(self, client: aiomqtt.Client) -> None:
        while True:
            self._news.clear()
            if not await self._say_next(client):
                await self._wait(self._voice.due_in(self._clock.monotonic()))

    async def _say_next(self, client: aiomqtt.Client) -> bool:
        """Whether there was something to be said."""
        publication = self._voice.next(self._clock.monotonic())
        if publication is not None:
            await self._send(client, publication)
        return publication is not None

    async def _wait(self, most_s: float) -> None:
        try:
            async with asyncio.timeout(min(most_s, _LONGEST_WAIT_S)):
                await self._news.wait()
        except TimeoutError:
            pass

    async def _refuse(self, client: aiomqtt.Client) -> None:
        async for _ in client.messages:
            raise BrokerError(
                f"The broker {self._broker.host}:{self._broker.port} sends what nobody asked it "
                f"for: check [mqtt]; it is tried again."
            )

    async def _leave(self, client: aiomqtt.Client) -> None:
        """Say what there is to say still, and goodbye."""
        how = await asyncio.shield(self._leaving)
        for _ in range(_FIRST):
            if not await self._say_next(client):
                break
        await self._send(client, self._voice.farewell(how))

    async def _send(self, client: aiomqtt.Client, message: Publication) -> None:
        properties = expiring(message.expires_s, **dict(message.user))
        await client.publish(
            message.topic, message.payload, message.qos, message.retained, properties
        )
        self.published += 1
