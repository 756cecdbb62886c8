"""A connection to the broker, with errors that say what to do."""

from __future__ import annotations

import asyncio
import hashlib
import logging
import ssl
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from typing import Any, Self

import aiomqtt
from paho.mqtt.packettypes import PacketTypes
from paho.mqtt.properties import Properties

from pullcall.bus.options import BrokerOptions
from pullcall.bus.trust import context
from pullcall.errors import BrokerError, reason

#: Nothing that a broker does may fill the journal.
_SILENT = logging.getLogger(f"{__name__}.mqtt")
_SILENT.setLevel(logging.CRITICAL + 1)

#: The broker is asked whether it lives this often, and gives a client up after half as much more.
KEEPALIVE_S = 10
#: An answer that takes longer is none, seconds.
PATIENCE_S = 5.0
#: A client that is back so soon was never lost, seconds.
WILL_DELAY_S = 2
#: What a broker says when it does not know a client (MQTT 5.0, 3.2.2.2): bad user name or
#: password, not authorised.
_UNKNOWN = (134, 135)
#: What paho says where the other side closed the connection; from here on all codes are refusals
#: (MQTT 5.0, 2.4).
_CLOSED = _REFUSED = 128
#: Whether a message was taken as it came.
Take = Callable[[aiomqtt.Message], bool]
#: Somebody else came by the same name ("session taken over").
_TAKEN_OVER = 142


class ClosedError(BrokerError):
    """The broker closed the connection without saying why."""


def is_refused(code: Any) -> bool:
    """Whether a reason code of the broker's answer is a refusal."""
    return bool(getattr(code, "value", code) >= _REFUSED)


def _bounded(largest: int | None) -> Properties | None:
    """The properties of a connection over which no packet comes that is larger."""
    if largest is None:
        return None
    properties = Properties(PacketTypes.CONNECT)  # type: ignore[no-untyped-call]
    properties.MaximumPacketSize = largest
    return properties


def expiring(seconds: int, **user: str) -> Properties:
    """The properties of a message that is not delivered later, with user properties."""
    properties = Properties(PacketTypes.PUBLISH)  # type: ignore[no-untyped-call]
    properties.MessageExpiryInterval = seconds
    properties.UserProperty = list(user.items())
    return properties


def last_will(topic: str, payload: bytes, lasts_s: int) -> aiomqtt.Will:
    """What the broker says of a client that went without a word; retained, QoS 1."""
    properties = Properties(PacketTypes.WILLMESSAGE)  # type: ignore[no-untyped-call]
    properties.WillDelayInterval = WILL_DELAY_S
    properties.MessageExpiryInterval = lasts_s
    return aiomqtt.Will(topic, payload, qos=1, retain=True, properties=properties)


class _Client(aiomqtt.Client):
    """A message that the broker refused ends the connection: aiomqtt would take it as sent."""

    take: Take | None = None

    async def __aenter__(self) -> Self:
        await super().__aenter__()
        _heed_cancellation()
        return self

    async def __aexit__(self, *failure: Any) -> None:
        await super().__aexit__(*failure)
        _heed_cancellation()

    async def subscribe(self, *args: Any, **more: Any) -> Any:
        granted = await super().subscribe(*args, **more)
        _heed_cancellation()
        return granted

    async def publish(self, *args: Any, **more: Any) -> None:
        await super().publish(*args, **more)
        _heed_cancellation()
        if self._disconnected.done():
            raise aiomqtt.MqttError("disconnected") from self._disconnected.exception()

    def _on_publish(self, client: Any, userdata: Any, mid: int, code: Any, properties: Any) -> None:
        if code.is_failure and not self._disconnected.done():
            self._disconnected.set_exception(_RefusedMessage(code))
        super()._on_publish(client, userdata, mid, code, properties)

    def _on_message(self, client: Any, userdata: Any, message: Any) -> None:
        take = self.take
        if take is None or not take(aiomqtt.Message._from_paho_message(message)):
            super()._on_message(client, userdata, message)

    def hang_up(self) -> None:
        """Close what aiomqtt may have left open, so that nothing more comes.

        Why the connection was lost may have been asked by nobody: asyncio would log that.
        """
        self._client._sock_close()
        if self._disconnected.done():
            self._disconnected.exception()


def _heed_cancellation() -> None:
    """aiomqtt awaits with ``asyncio.wait_for``, which in Python 3.11 swallows a cancellation that
    comes with the answer: whoever was told to end would go on for ever."""
    task = asyncio.current_task()
    if task is not None and task.cancelling():
        raise asyncio.CancelledError


class _RefusedMessage(aiomqtt.MqttCodeError):
    """The broker did not take a message."""


@asynccontextmanager
async def connected(
    options: BrokerOptions,
    name: str,
    will: aiomqtt.Will | None = None,
    *,
    most_waiting: int = 0,
    largest: int | None = None,
    take: Take | None = None,
) -> AsyncIterator[aiomqtt.Client]:
    """A client for a block's length; ``name`` begins its id on the broker.

    ``most_waiting`` bounds the messages received and not yet taken (0: no bound), ``largest`` the
    bytes of a packet that the broker may send. ``take`` gets each message as it comes; what it
    gives False for waits as without it. Raises BrokerError, saying what to do, where there is no
    connection or it ends within the block.
    """
    client = _Client(
        options.host,
        options.port,
        logger=_SILENT,
        username=options.user,
        password=options.password,
        identifier=_identifier(options, name),
        protocol=aiomqtt.ProtocolVersion.V5,
        will=will,
        clean_start=True,
        timeout=PATIENCE_S,
        keepalive=KEEPALIVE_S,
        tls_context=context(options),
        max_queued_incoming_messages=most_waiting or None,
        properties=_bounded(largest),
    )
    client.take = take
    try:
        async with client:
            yield client
    except aiomqtt.MqttError as exc:
        raise _translated(options, exc) from exc
    finally:
        client.hang_up()


def _identifier(options: BrokerOptions, name: str) -> str:
    """The client's id: the same each time, so that a session is taken over and no last will comes
    late, and not to be guessed by other users, who could end the session by it."""
    if options.password is None:
        return name
    return f"{name}-{hashlib.sha256(f'{name}:{options.password}'.encode()).hexdigest()[:8]}"


def _translated(options: BrokerOptions, error: aiomqtt.MqttError) -> BrokerError:
    why = error.__cause__ if isinstance(error.__cause__, aiomqtt.MqttError) else error
    sort = ClosedError if _number(why) == _CLOSED else BrokerError
    return sort(_sentence(options, why))


def _number(error: aiomqtt.MqttError) -> int | None:
    """The reason code that came with it."""
    code = getattr(error, "rc", None)
    return getattr(code, "value", code)


def _sentence(options: BrokerOptions, error: aiomqtt.MqttError) -> str:
    where = f"The broker {options.host}:{options.port}"
    number = _number(error)
    cause = error.__context__ or error  # aiomqtt hides it, but Python remembers
    if isinstance(error, _RefusedMessage):
        return (
            f"{where} refuses what is published ({error.rc}): check what it lets this user write."
        )
    if number in _UNKNOWN:
        return f"{where} lets nobody in with these: check user and password in [mqtt]."
    if number == _TAKEN_OVER:
        return f"{where} knows another by this name: give each site its own in [mqtt] site."
    if isinstance(cause, ssl.SSLCertVerificationError):
        return f"{where} shows a certificate that is not trusted: check ca and host in [mqtt]."
    why = "it closed the connection"
    if number != _CLOSED:
        why = reason(cause if str(cause) else error)
    return (
        f"{where} cannot be reached ({why}): check host, port and tls in [mqtt], and the network; "
        f"it is tried again."
    )
