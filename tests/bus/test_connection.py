"""Connections to a real broker."""

from __future__ import annotations

import asyncio
import contextlib
import gc
from contextlib import suppress
from dataclasses import replace

import aiomqtt
import pytest

from pullcall.bus.connection import connected, expiring
from pullcall.errors import BrokerError, ConfigError
from tests.broker import Broker


async def test_a_site_is_heard_over_tls_by_who_may_read(broker: Broker) -> None:
    async with (
        connected(broker.options("archive"), "reader") as reader,
        connected(broker.options("north"), "north") as writer,
    ):
        await reader.subscribe("pullcall/1/#", qos=1)
        await writer.publish("pullcall/1/north/pulse", b"{}", 1, properties=expiring(9, seq="4"))
        message = await anext(aiter(reader.messages))
    assert (str(message.topic), message.payload) == ("pullcall/1/north/pulse", b"{}")
    assert dict(message.properties.UserProperty) == {"seq": "4"}  # type: ignore[union-attr]
    assert message.properties.MessageExpiryInterval <= 9  # type: ignore[union-attr]


async def test_a_site_cannot_write_in_the_branch_of_another(broker: Broker) -> None:
    async with connected(broker.options("archive"), "reader") as reader:
        await reader.subscribe("pullcall/1/#", qos=1)
        with suppress(BrokerError):
            async with connected(broker.options("south"), "south") as writer:
                await writer.publish("pullcall/1/north/pulse", b"forged", 1)
        async with connected(broker.options("south"), "south") as writer:
            await writer.publish("pullcall/1/south/pulse", b"own", 1)
        message = await anext(aiter(reader.messages))
    assert message.payload == b"own"


async def test_a_wrong_password_says_what_to_check(broker: Broker) -> None:
    wrong = replace(broker.options("north"), password="no")
    with pytest.raises(BrokerError, match="check user and password"):
        async with connected(wrong, "north"):
            pass


# paho leaves the socket of a handshake that failed to the garbage collector.
@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")
async def test_a_certificate_nobody_vouches_for_says_what_to_check(broker: Broker) -> None:
    unknown = replace(broker.options("north"), ca=None)
    with pytest.raises(BrokerError, match="not trusted: check ca and host"):
        async with connected(unknown, "north"):
            pass
    gc.collect()


async def test_a_broker_that_is_not_there_is_named(broker: Broker) -> None:
    broker.kill()
    with pytest.raises(BrokerError, match=rf"localhost:{broker.secure} cannot be reached \([A-Z]"):
        async with connected(broker.options("north"), "north"):
            pass


async def test_a_missing_certificate_file_is_an_error_of_the_configuration(broker: Broker) -> None:
    nowhere = replace(broker.options("north"), ca=broker.folder / "none.pem")
    with pytest.raises(ConfigError, match="check ca in"):
        async with connected(nowhere, "north"):
            pass


async def test_a_message_that_the_broker_refuses_is_no_message_sent(broker: Broker) -> None:
    with pytest.raises(BrokerError, match=r"refuses what is published .*Not authorized"):
        async with connected(broker.options("south"), "south") as writer:
            await writer.publish("pullcall/1/north/pulse", b"forged", 1)


async def test_nobody_ends_a_site_s_connection_by_taking_its_name(broker: Broker) -> None:
    async with connected(broker.options("north"), "pullcall-north") as site:
        for name in ("pullcall-north", "north"):
            async with connected(broker.options("south"), name):
                pass
        await site.publish("pullcall/1/north/pulse", b"{}", 1)


async def test_a_cancellation_that_comes_with_the_answer_is_not_lost(
    broker: Broker, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = asyncio.Event()

    async def swallowing(*_: object, **__: object) -> None:
        """As ``asyncio.wait_for`` of Python 3.11 may."""
        asked.set()
        with contextlib.suppress(asyncio.CancelledError):
            await asyncio.Event().wait()

    async with connected(broker.options("north"), "north") as client:
        for act in ("publish", "subscribe"):
            monkeypatch.setattr(aiomqtt.Client, act, swallowing)
            asked.clear()
            task = asyncio.create_task(getattr(client, act)("pullcall/1/north/pulse"))
            await asked.wait()
            task.cancel()
            with pytest.raises(asyncio.CancelledError):
                await task
