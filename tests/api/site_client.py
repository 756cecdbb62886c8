"""A site with its application, asked as from this machine, or as from somewhere on the network."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass
from typing import Any

import httpx
from fastapi import FastAPI

from pullcall.access.access import Access
from pullcall.access.records import WHOLE, Sight
from pullcall.access.role import Role
from pullcall.site.live import Site

NAME = "grill.local"
ADDRESS = "192.168.7.20"


@dataclass
class Served:
    """An application and what is behind it."""

    app: FastAPI
    site: Site
    access: Access

    def here(self) -> httpx.AsyncClient:
        """A client on this machine."""
        return self._client("http://127.0.0.1", "127.0.0.1")

    def stranger(self, scheme: str = "https", address: str = "192.168.7.66") -> httpx.AsyncClient:
        """A client on the network that nobody paired."""
        return self._client(f"{scheme}://{NAME}", address)

    @asynccontextmanager
    async def phone(
        self, role: Role, sight: Sight = WHOLE, scheme: str = "https"
    ) -> AsyncIterator[httpx.AsyncClient]:
        """A client on the network, paired by a link."""
        invited = self.access.invite(role, "", None, sight)
        async with self.stranger(scheme) as client:
            answer = await client.post("/api/v1/pairings", json={"secret": invited.secret})
            assert answer.status_code == 201, answer.text
            yield client

    def _client(self, base: str, address: str) -> httpx.AsyncClient:
        transport = httpx.ASGITransport(app=self.app, client=(address, 50000))
        return httpx.AsyncClient(transport=transport, base_url=base)


def detail(answer: httpx.Response) -> str:
    """A problem's sentence."""
    body: dict[str, Any] = answer.json()
    assert answer.headers["content-type"] == "application/problem+json"
    return str(body["detail"])
