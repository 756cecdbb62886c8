"""The site of one cook that is over: it stands still and gives its recording, which pages play."""

from __future__ import annotations

import asyncio
import gzip
import json
from collections.abc import Callable
from datetime import datetime
from typing import Any

from pullcall.clock import RealClock
from pullcall.core.cook import Cook
from pullcall.errors import RefusedError, UnknownNameError
from pullcall.events import CookHeader, Input, SteakSettings, Window
from pullcall.plan.wall import wall_time
from pullcall.site.hub import Hub
from pullcall.supervision import Edges, Trouble

_REFUSAL = "This is a replay of a cook that is over: marks, spots and answers are off."
#: How often pages are told that the link lives, seconds.
_BEAT_S = 1.0


class RecordedSite:
    """Looks like a site to the page, but takes nothing in. ``speed`` is how fast pages begin.

    ``recording`` is the file that :class:`pullcall.site.recording.Recorder` makes.
    """

    #: There is no logbook behind one recorded cook.
    archive = None
    review = None

    def __init__(self, header: CookHeader, recording: bytes, unit: str, speed: int) -> None:
        self.hub = Hub()
        self.edges = Edges(RealClock())
        self.cook = Cook(header)
        self._recording = recording
        self._unit = unit
        self._speed = speed
        self._end = _end_of(recording)

    def now(self) -> float:
        """When the cook ended, seconds since its zero."""
        return float(self._end["t"])

    async def take(self, make: Callable[[float], Input]) -> Input:
        """Refuse: a replay takes nothing in."""
        raise RefusedError(_REFUSAL)

    async def set_clock(self, wall: datetime) -> None:
        """Refuse: a replay takes nothing in."""
        raise RefusedError(_REFUSAL)

    def window(self, text: str) -> Window:
        """Refuse: a replay takes nothing in."""
        raise RefusedError(_REFUSAL)

    def phone_seen(self, phone: str, armed: bool) -> None:
        """Nothing waits for phones in a replay."""

    def receipt(self, phone: str, call: str) -> None:
        """Nothing waits for receipts in a replay."""

    async def clip(self, id: str) -> bytes:
        """Refuse: what was said then is not said again."""
        raise UnknownNameError("A replay does not speak: its calls are shown only.")

    async def begin(self, steaks: tuple[SteakSettings, ...] | None) -> str:
        """Refuse: a replay takes nothing in."""
        raise RefusedError(_REFUSAL)

    async def recording(self, id: str) -> bytes:
        """The one recording there is. Raises UnknownNameError for another."""
        if id != self.cook.header.cook:
            raise UnknownNameError(f"Only {self.cook.header.cook} is replayed here.")
        return self._recording

    def snapshot(self) -> dict[str, Any]:
        """The cook as it stood at its end; pages play what was before."""
        return {
            **self._end,
            "steaks": [{**steak, "curve": []} for steak in self._end["steaks"]],
            "epoch": self.hub.epoch,
            "seq": self.hub.seq,
            "wall": wall_time(self.cook.header, self.now()),
            "speed": self._speed,
            "mode": "replay",
            "unit": self._unit,
            "ends_t": self.now(),
            "banner": None,
        }

    def probes(self) -> dict[str, Any]:
        """A replay hears no probe."""
        return {"probes": [], "adapter": None}

    async def run(self) -> None:
        """Keep the links of pages until cancelled."""
        while True:
            self.hub.whisper("tick", {"t": self.now()})
            await asyncio.sleep(_BEAT_S)

    def troubles(self) -> tuple[Trouble, ...]:
        """Every part around the page that does not go."""
        return self.edges.troubles()

    def close(self) -> None:
        """Let pages go."""
        self.hub.close()


def _end_of(recording: bytes) -> dict[str, Any]:
    """The snapshot that a recording ends with."""
    last = gzip.decompress(recording).rstrip().rpartition(b"\n")[2]
    end: dict[str, Any] = json.loads(last)
    return {key: value for key, value in end.items() if key not in ("type", "t_rx")}
