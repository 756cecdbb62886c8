"""Pages of a board, as far as the bench needs them: what arrives, and how old it is then."""

from __future__ import annotations

import asyncio
import json
import time
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

import httpx
import numpy as np
import websockets

from tests.bench.stamp import age_s
from tests.integration.daemon import Daemon

Json = dict[str, Any]
#: What is older was kept by the broker, and says nothing of the way, seconds.
_OLDEST_S = 30.0


@dataclass
class Ages:
    """How old readings were when they came, seconds."""

    all: list[float] = field(default_factory=list)
    bytes: int = 0
    messages: int = 0

    def words(self) -> str:
        """Their middle, and how bad it gets."""
        if not self.all:
            return "no reading came"
        p50, p95, p99, most = np.percentile(np.array(self.all) * 1000.0, [50, 95, 99, 100])
        return (
            f"p50 {p50:.0f}, p95 {p95:.0f}, p99 {p99:.0f}, most {most:.0f} ms "
            f"({len(self.all)} readings)"
        )

    def take(self, celsius: Iterable[float | None], at: float | None = None) -> None:
        """Note how old these readings are, now or ``at`` that moment (monotonic)."""
        ages = [age_s(one, at) for one in celsius if one is not None]
        self.all += [age for age in ages if age is not None and age < _OLDEST_S]


async def watch_board(board: Daemon, seconds: float) -> Ages:
    """Every change of a reading on the board's stream."""
    ages, shown = Ages(), dict[tuple[str, str], float]()
    async for message in _messages(board.stream, seconds, ages):
        rows = message.get("rows", [])
        here = {(r["site"], s["steak"]): s["celsius"] for r in rows for s in r["steaks"]}
        if message["type"] == "rows":
            ages.take(celsius for key, celsius in here.items() if shown.get(key) != celsius)
        shown |= here
    return ages


async def watch_site(board: Daemon, site: str, seconds: float) -> Ages:
    """Every reading on the stream of one site's page."""
    ages = Ages()
    address = board.stream.replace("/api/v1/stream", f"/sites/{site}/api/v1/stream")
    async for message in _messages(address, seconds, ages):
        if message["type"] == "reading":
            ages.take([message["celsius"]])
    return ages


async def _messages(address: str, seconds: float, ages: Ages) -> Any:
    ends = time.monotonic() + seconds
    async with websockets.connect(address, max_size=None) as socket:
        while (left := ends - time.monotonic()) > 0.0:
            try:
                async with asyncio.timeout(left):
                    line = await socket.recv()
            except TimeoutError:
                return
            ages.bytes += len(line)
            ages.messages += 1
            yield json.loads(line)


async def until_whole(board: Daemon, sites: int, since: float, patience_s: float = 120.0) -> float:
    """Seconds from ``since`` (monotonic) until every row is there with a reading of each steak."""
    async with asyncio.timeout(patience_s), httpx.AsyncClient() as client:
        while True:
            try:
                answer = (await client.get(f"{board.url}/sites")).raise_for_status().json()
            except httpx.TransportError:
                answer = {"rows": []}
            rows = [row for row in answer["rows"] if _is_whole(row)]
            if len(rows) >= sites:
                return time.monotonic() - since
            await asyncio.sleep(0.05)


async def until_live(board: Daemon, sites: int, since: float, patience_s: float = 120.0) -> float:
    """Seconds from ``since`` (monotonic) until each site's row has a reading taken after that."""
    live: set[str] = set()
    async for message in _messages(board.stream, patience_s, Ages()):
        now = time.monotonic()
        for row in message.get("rows", []):
            ages = [age_s(s["celsius"], now) for s in row["steaks"] if s["celsius"] is not None]
            if any(age is not None and now - age > since for age in ages):
                live.add(row["site"])
        if len(live) >= sites:
            return now - since
    raise TimeoutError("not every site came back")


def _is_whole(row: Json) -> bool:
    readings = [steak["celsius"] for steak in row["steaks"]]
    return row["state"] == "here" and len(readings) == 2 and None not in readings
