"""The broker's example files, run as they are: who may write, read and come in at all."""

from __future__ import annotations

import asyncio
import signal
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import replace
from pathlib import Path

import aiomqtt
import pytest

from pullcall.bus import connection
from pullcall.bus.connection import connected
from pullcall.errors import BrokerError
from tests.broker import Broker, running_broker

#: What is published in these tests, with the only user who may; None: nobody may.
TOPICS = {
    "pullcall/1/north/pulse": "north",
    "pullcall/1/south/pulse": "south",
    "homie/5/pullcall-north/$state": "north",
    "homie/5/pullcall-south/$state": "south",
    "gateway/shed/1": "gateway",
    "pullcall/1/board/pulse": None,
    "pullcall/1/gateway/pulse": None,
    "pullcall/1/home/pulse": None,
    "homie/5/pullcall-board/$state": None,
    "homie/5/pullcall-gateway/$state": None,
    "homie/5/pullcall-home/$state": None,
    "homie/5/other/$state": None,
    "pullcall/2/north/pulse": None,
    "pullcall/1": None,
    "elsewhere": None,
}
_PATIENCE_S = 60


@pytest.fixture
def broker(tmp_path: Path) -> Iterator[Broker]:
    with running_broker(tmp_path / "broker") as one:
        yield one


async def test_each_writes_its_own_branch_and_nobody_anything_else(broker: Broker) -> None:
    users = ("north", "south", "board", "gateway", "home")
    async with connected(broker.options("archive"), "witness") as witness:
        await witness.subscribe("#", qos=1)
        taken = {(t, u) for u in users for t in TOPICS if await _is_taken(broker, u, t)}
        await _say(broker, "east", "pullcall/1/east/end", b"east")
        came = await _until(witness, "pullcall/1/east/end")
    assert taken == {(topic, user) for topic, user in TOPICS.items() if user is not None}
    assert came == {(t, u.encode()) for t, u in taken} | {("pullcall/1/east/end", b"east")}


@pytest.mark.parametrize(
    ("reader", "branches"),
    [
        ("north", ("gateway/",)),
        ("gateway", ("gateway/",)),
        ("board", ("pullcall/1/",)),
        ("home", ("homie/5/",)),
        ("archive", ("pullcall/1/", "homie/5/", "gateway/")),
    ],
)
async def test_each_reads_only_what_it_is_there_for(
    broker: Broker, reader: str, branches: tuple[str, ...]
) -> None:
    for topic, user in TOPICS.items():
        if user is not None:
            await _say(broker, user, topic, b"kept", retain=True)
    async with connected(broker.options(reader), "reader") as client:
        for wanted in ("#", "pullcall/1/south/#", "homie/5/#", "gateway/#"):
            await client.subscribe(wanted, qos=1)
        for word in (b"first", b"last"):  # what came astray came before the last
            for topic, user in TOPICS.items():
                if user is not None:
                    await _say(broker, user, topic, word)
        ends = [t for t, user in TOPICS.items() if user and t.startswith(branches)]
        came = await _until(client, ends[-1], b"last")
    expected = {(t, word) for t in ends for word in (b"kept", b"first", b"last")}
    assert came == expected


async def test_a_stranger_is_not_let_in(broker: Broker) -> None:
    known = broker.options("north")
    for stranger in (
        replace(known, user="stranger"),
        replace(known, user=None, password=None),
        replace(known, user="board"),
    ):
        with pytest.raises(BrokerError, match="lets nobody in with these"):
            async with connected(stranger, "stranger"):
                pass


async def test_a_last_will_says_nothing_in_the_branch_of_another(broker: Broker) -> None:
    async with connected(broker.options("archive"), "witness") as witness:
        await witness.subscribe("pullcall/#", qos=1)
        for topic in ("pullcall/1/north/presence", "pullcall/1/south/presence"):
            will = aiomqtt.Will(topic, b"lost", qos=1, retain=True)
            await _lose(broker, "south", will)
        came = await _until(witness, "pullcall/1/south/presence")
    assert came == {("pullcall/1/south/presence", b"lost")}


async def test_retained_state_outlives_a_restart_of_the_broker(broker: Broker) -> None:
    await _say(broker, "north", "pullcall/1/north/cook", b"{}", retain=True)
    assert broker.process is not None
    broker.process.send_signal(signal.SIGTERM)
    broker.process.wait(_PATIENCE_S)
    broker.process = None
    broker.start()
    async with connected(broker.options("board"), "board") as board:
        await board.subscribe("pullcall/1/#", qos=1)
        assert await _until(board, "pullcall/1/north/cook") == {("pullcall/1/north/cook", b"{}")}


async def test_the_longest_message_of_a_site_passes_and_a_flood_does_not(
    broker: Broker, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(connection, "PATIENCE_S", 1.0)  # who is shut out gets no goodbye
    async with connected(broker.options("board"), "board") as board:
        await board.subscribe("pullcall/1/#", qos=1)
        with suppress(BrokerError):  # it is shut out for that
            await _say(broker, "south", "pullcall/1/south/deeds", bytes(300_000), qos=0)
        await _say(broker, "north", "pullcall/1/north/deeds", bytes(131_072))
        came = await _until(board, "pullcall/1/north/deeds")
    assert came == {("pullcall/1/north/deeds", bytes(131_072))}


async def _is_taken(broker: Broker, user: str, topic: str) -> bool:
    """Whether the broker takes what this user publishes there, or says that it refuses."""
    try:
        async with connected(broker.options(user, tls=False), user) as client:
            await client.publish(topic, user.encode(), 1)
    except BrokerError as refused:
        assert "refuses what is published" in str(refused)
        return False
    return True


async def _say(
    broker: Broker, user: str, topic: str, payload: bytes, *, qos: int = 1, retain: bool = False
) -> None:
    """Publish as this user, and return once the broker has it."""
    async with connected(broker.options(user), user) as client:
        await client.publish(topic, payload, qos, retain=retain)


async def _until(
    client: aiomqtt.Client, topic: str, payload: bytes | None = None
) -> set[tuple[str, bytes]]:
    """Everything that came until this did."""
    came: set[tuple[str, bytes]] = set()
    async with asyncio.timeout(_PATIENCE_S):
        async for message in client.messages:
            assert isinstance(message.payload, bytes)
            came.add((str(message.topic), message.payload))
            if str(message.topic) == topic and payload in (None, message.payload):
                return came
    raise AssertionError("the broker ended")


async def _lose(broker: Broker, user: str, will: aiomqtt.Will) -> None:
    """Be gone without a goodbye: another takes over the client's name."""
    with suppress(BrokerError):
        async with (
            connected(broker.options(user), "same", will),
            connected(broker.options(user), "same"),
        ):
            pass
