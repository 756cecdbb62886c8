"""The way to the broker, kept up: what sites publish comes in by it, until cancelled."""

from __future__ import annotations

import logging
import random
import secrets
from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

import aiomqtt

from pullcall.board.stamp import Stamp, stamp_of
from pullcall.bus import channels
from pullcall.bus.connection import connected
from pullcall.bus.options import BrokerOptions
from pullcall.clock import Clock
from pullcall.errors import BrokerError, ConfigError

_log = logging.getLogger(__name__)

#: Takes topic, payload, whether the broker had kept it, and its stamp.
Take = Callable[[str, bytes, bool, Stamp], None]
#: Messages that may wait: all that a thousand sites retain, and some seconds of what they say.
_MOST_WAITING = 50_000
#: The first wait before another try, and the longest, seconds; each is a quarter shorter or longer.
_FIRST_WAIT_S, _LONGEST_WAIT_S = 0.5, 15.0
#: A reason code from here on is a refusal (MQTT 5.0, 2.4).
_REFUSED = 128


class BrokerState(StrEnum):
    """How the way to the broker is."""

    CONNECTING = "connecting"
    OK = "ok"
    LOST = "lost"


@dataclass(frozen=True, slots=True)
class BrokerStatus:
    """The state, with one sentence for people where it is not ok."""

    state: BrokerState
    note: str = ""


class Subscriber:
    """Hands every message of state to ``take``; ``tell`` is called when the status changes.

    A board that falls behind connects anew, and has the state as the broker keeps it then.
    """

    def __init__(
        self, options: BrokerOptions, clock: Clock, take: Take, tell: Callable[[], None]
    ) -> None:
        self.status = BrokerStatus(BrokerState.CONNECTING, "The broker is being looked for.")
        self._options = options
        self._clock = clock
        self._take = take
        self._tell = tell
        self._name = f"pullcall-board-{secrets.token_hex(4)}"

    async def run(self) -> None:
        """Keep the way open until cancelled, trying again for as long as it takes."""
        wait_s = _FIRST_WAIT_S
        while True:
            was_open = False
            try:
                await self._follow()
            except (BrokerError, ConfigError) as exc:
                was_open = self.status.state is BrokerState.OK
                self._set(BrokerState.LOST, str(exc))
            wait_s = _FIRST_WAIT_S if was_open else min(wait_s * 2.0, _LONGEST_WAIT_S)
            pause_s = wait_s * random.uniform(0.75, 1.25)
            await self._clock.sleep_until(self._clock.monotonic() + pause_s)

    async def _follow(self) -> None:
        """One connection, for as long as it lasts. Raises BrokerError."""
        async with connected(self._options, self._name, most_waiting=_MOST_WAITING) as client:
            for channel in channels.STATE:
                await self._subscribe(client, channel.filter())
                while len(client.messages):
                    self._hand_on(client, await anext(client.messages))
            self._set(BrokerState.OK, "")
            async for message in client.messages:
                self._hand_on(client, message)

    async def _subscribe(self, client: aiomqtt.Client, topic: str) -> None:
        """One after the other: the broker has to queue only what it keeps of one topic.

        With QoS 0, for a connection loses nothing while it lasts, and the next one begins anew.
        """
        for code in await client.subscribe(topic, qos=0):
            if getattr(code, "value", code) >= _REFUSED:
                raise BrokerError(
                    f"The broker does not let this board read {topic}: allow its user to."
                )

    def _hand_on(self, client: aiomqtt.Client, message: aiomqtt.Message) -> None:
        """Raises BrokerError where messages may have been dropped."""
        if len(client.messages) >= _MOST_WAITING - 1:
            raise BrokerError("This board fell behind: it begins again from what the broker keeps.")
        payload = message.payload
        if isinstance(payload, bytes | bytearray):
            stamp = _stamp(message.properties)
            self._take(str(message.topic), bytes(payload), bool(message.retain), stamp)

    def _set(self, state: BrokerState, note: str) -> None:
        if self.status == BrokerStatus(state, note):
            return
        self.status = BrokerStatus(state, note)
        _log.info("The board follows the broker.") if not note else _log.warning("%s", note)
        self._tell()


def _stamp(properties: Any) -> Stamp:
    user = getattr(properties, "UserProperty", ())
    return stamp_of(user, getattr(properties, "MessageExpiryInterval", None))
