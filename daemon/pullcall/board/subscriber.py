"""The way to the broker, kept up: what sites publish comes in by it, until cancelled."""

from __future__ import annotations

import asyncio
import logging
import secrets
from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

import aiomqtt

from pullcall.board.intake import Intake, Message
from pullcall.board.stamp import Stamp, stamp_of
from pullcall.bus import channels
from pullcall.bus.connection import connected, is_refused
from pullcall.bus.options import BrokerOptions
from pullcall.bus.patience import Patience
from pullcall.bus.payloads import LARGEST
from pullcall.clock import Clock
from pullcall.errors import BrokerError, ConfigError

_log = logging.getLogger(__name__)

#: Takes one message.
Take = Callable[[Message], None]
#: A broker hands on no packet that is larger: the largest payload, and what is said beside it.
_LARGEST_PACKET = LARGEST + 16 * 1024
#: Pages get their turn after so many bytes were taken.
_AT_ONCE = 64 * 1024
#: What a message costs besides reading it, in bytes that could be read meanwhile.
_OVERHEAD = 4096
#: What may not be taken yet is looked at again after this, seconds.
_LATER_S = 0.05
_FOLLOWS = "The board follows the broker."


class BrokerState(StrEnum):
    """How the way to the broker is."""

    CONNECTING = "connecting"
    OK = "ok"
    LOST = "lost"


@dataclass(frozen=True, slots=True)
class BrokerStatus:
    """The state, with one sentence for people where it is not ok."""

    state: BrokerState = BrokerState.CONNECTING
    note: str = "The broker is being looked for."


class Subscriber:
    """Hands every message of state to ``take``, each site in its turn; ``tell`` is told how the
    way to the broker is, each time that it is made or lost.

    A board that falls behind connects anew, and has the state as the broker keeps it then.
    """

    def __init__(
        self,
        options: BrokerOptions,
        clock: Clock,
        intake: Intake,
        take: Take,
        tell: Callable[[BrokerStatus], None],
    ) -> None:
        self._options = options
        self._clock = clock
        self._intake = intake
        self._take = take
        self._tell = tell
        self._news = asyncio.Event()
        self._said = BrokerStatus()
        self._name = f"pullcall-board-{secrets.token_hex(4)}"

    async def run(self) -> None:
        """Keep the way open until cancelled, trying again for as long as it takes."""
        async with asyncio.TaskGroup() as tasks:
            tasks.create_task(self._take_in_turn(), name="take")
            tasks.create_task(self._keep_open(), name="follow")

    async def _keep_open(self) -> None:
        patience = Patience()
        while True:
            began = self._clock.monotonic()
            try:
                await self._follow()
            except (BrokerError, ConfigError) as exc:
                self._say(BrokerStatus(BrokerState.LOST, str(exc)))
            ended = self._clock.monotonic()
            await self._clock.sleep_until(ended + patience.next(ended - began))

    async def _follow(self) -> None:
        """One connection, for as long as it lasts. Raises BrokerError."""
        self._intake.clear()
        async with connected(
            self._options, self._name, most_waiting=1, largest=_LARGEST_PACKET, take=self._put
        ) as client:
            for channel in channels.STATE:
                await self._subscribe(client, channel.filter())
            self._say(BrokerStatus(BrokerState.OK, ""))
            async for _ in client.messages:
                raise BrokerError(
                    "This board fell behind: it begins again from what the broker keeps."
                )

    async def _subscribe(self, client: aiomqtt.Client, topic: str) -> None:
        """One after the other: the broker has to queue only what it keeps of one topic.

        With QoS 0, for a connection loses nothing while it lasts, and the next one begins anew.
        """
        for code in await client.subscribe(topic, qos=0):
            if is_refused(code):
                raise BrokerError(
                    f"The broker does not let this board read {topic}: allow its user to."
                )

    def _put(self, message: aiomqtt.Message) -> bool:
        """Let a message wait for its turn; False where the board has fallen behind."""
        payload = message.payload
        if isinstance(payload, bytes | bytearray):
            stamp = _stamp(message.properties)
            one = Message(str(message.topic), bytes(payload), bool(message.retain), stamp)
            self._intake.put(one, self._clock.monotonic())
            self._news.set()
        return not self._intake.is_overfull

    async def _take_in_turn(self) -> None:
        while True:
            if self._take_some():
                await asyncio.sleep(0)
            elif self._intake.waiting:
                await self._clock.sleep_until(self._clock.monotonic() + _LATER_S)
            else:
                self._news.clear()
                await self._news.wait()

    def _take_some(self) -> bool:
        """Whether anything could be taken."""
        now, size = self._clock.monotonic(), 0
        while size < _AT_ONCE and (message := self._intake.next(now)) is not None:
            self._take(message)
            size += len(message.payload) + _OVERHEAD
        return size > 0

    def _say(self, status: BrokerStatus) -> None:
        if status != self._said:
            self._said = status
            _log.warning("%s", status.note) if status.note else _log.info("%s", _FOLLOWS)
        self._tell(status)


def _stamp(properties: Any) -> Stamp:
    user = getattr(properties, "UserProperty", ())
    return stamp_of(user, getattr(properties, "MessageExpiryInterval", None))
