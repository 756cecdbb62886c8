"""A board with two sites behind its application, asked from here or there. All data is invented."""

from __future__ import annotations

import json
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

import httpx
from fastapi import FastAPI

from pullcall.access.records import WHOLE, Sight
from pullcall.api.board.admission import BoardAdmission
from pullcall.api.board.app import create_board_app
from pullcall.api.board.passes import Passes
from pullcall.api.front import Front
from pullcall.board.board import Board
from pullcall.board.stamp import Stamp
from pullcall.board.subscriber import BrokerState, BrokerStatus
from pullcall.bus.channels import ROOT
from pullcall.bus.examples import EXAMPLES
from pullcall.bus.options import BrokerOptions
from pullcall.clock import RecordedClock
from tests.api.site_client import NAME

SECRET = bytes(range(32))
#: What a site has said, by the topic below it and the channel of the example.
_SAID = {
    "presence": "presence",
    "pulse": "pulse",
    "cook": "cook",
    "steak/1": "steak",
    "steak/1/reading": "reading",
    "steak/1/forecast": "forecast",
    "schedule": "schedule",
    "plan": "plan",
}


@dataclass
class ServedBoard:
    """An application, what is behind it, and the clock of all of it, which tests move."""

    app: FastAPI
    board: Board
    admission: BoardAdmission
    clock: RecordedClock

    def hear(self, site: str, topic: str, said: dict[str, Any]) -> None:
        """Something arrives from a site."""
        payload = json.dumps(said).encode()
        now = self.clock.monotonic()
        self.board.roster.take(f"{ROOT}/{site}/{topic}", payload, False, Stamp(), now)
        self.board.roster.settle(now)

    def cut_off(self, note: str) -> None:
        """The broker is not reached any more."""
        self.board.take_status(BrokerStatus(BrokerState.LOST, note))

    def hear_all(self, site: str, name: str) -> None:
        """A site that cooks, with a pull call that nobody answered."""
        for topic, channel in _SAID.items():
            said = EXAMPLES[channel][0]
            self.hear(site, topic, said | {"name": name} if topic == "presence" else said)
        call = EXAMPLES["call"][0] | {"call": "pull_now", "text": "Left: pull now"}
        self.hear(site, "calls", {"calls": [call]})

    def here(self) -> httpx.AsyncClient:
        """A client on this machine."""
        return self._client("http://127.0.0.1", "127.0.0.1")

    def stranger(self, scheme: str = "https", address: str = "192.168.7.66") -> httpx.AsyncClient:
        """A client on the network that nobody gave a link."""
        return self._client(f"{scheme}://{NAME}", address)

    @asynccontextmanager
    async def watcher(
        self, sight: Sight = WHOLE, site: str | None = None
    ) -> AsyncIterator[httpx.AsyncClient]:
        """A client on the network that came by a link."""
        async with self.stranger() as client:
            link = self.admission.link(None, sight, site)
            answer = await client.post("/api/v1/pairings", json={"secret": link})
            assert answer.status_code == 201, answer.text
            yield client

    def _client(self, base: str, address: str) -> httpx.AsyncClient:
        transport = httpx.ASGITransport(app=self.app, client=(address, 50000))
        return httpx.AsyncClient(transport=transport, base_url=base)


def served_board(secret: bytes = SECRET) -> ServedBoard:
    """A board that heard of two sites."""
    clock = RecordedClock(datetime(2026, 6, 13, 12, 0, tzinfo=UTC))
    board = Board(BrokerOptions("broker.example", 8883), clock)
    admission = BoardAdmission(Passes(secret), clock)
    served = ServedBoard(
        create_board_app(board, admission, Front(frozenset({NAME}))), board, admission, clock
    )
    served.hear_all("north", "North grill")
    served.hear_all("south", "South grill")
    return served
