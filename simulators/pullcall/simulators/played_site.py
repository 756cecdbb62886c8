"""A site that plays a cook over and over, as one that runs would tell it to its pages."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from pullcall.bus.options import SiteOptions
from pullcall.clock import Clock
from pullcall.simulators.tape import Said, Tape

Json = dict[str, Any]
#: How often a site tells that it lives, and how its probes do, real seconds.
BEAT_S = 1.0
_READY = [{"name": "simulated", "ok": True, "words": "Simulated: ready", "celsius": None}]


@dataclass(frozen=True, slots=True)
class Played:
    """What one site plays: a tape from ``begins_s`` on, ``speed`` times as fast as life.

    ``until_s`` is where it begins again, cook seconds.
    """

    site: SiteOptions
    tape: Tape
    begins_s: float
    speed: float

    @property
    def until_s(self) -> float:
        return self.tape.ends_t


class PlayedSite:
    """Hands ``hear`` the messages of its stream, a snapshot first, each when it is due."""

    def __init__(self, played: Played, clock: Clock, hear: Callable[[Json], None]) -> None:
        self._played = played
        self._clock = clock
        self._hear = hear
        self._cooks = 0

    async def run(self) -> None:
        """Play until cancelled."""
        begins_s = self._played.begins_s
        while True:
            await self._cook(begins_s)
            begins_s = 0.0

    async def _cook(self, begins_s: float) -> None:
        """One cook from ``begins_s`` to its end."""
        self._cooks += 1
        zero = self._clock.monotonic() - begins_s / self._played.speed
        tape, speed = self._played.tape, self._played.speed
        for message in self._so_far(begins_s):
            self._hear(message)
        for said in self._to_come(begins_s):
            await self._clock.sleep_until(zero + said.t / speed)
            self._hear(said.message)
        await self._clock.sleep_until(zero + tape.ends_t / speed)

    def _so_far(self, t: float) -> Iterator[Json]:
        """The snapshot before ``t``, and what was said from there to ``t``."""
        whole = self._played.tape.whole_at(t)
        yield self._whole(whole, t)
        for said in self._played.tape.after(whole.t):
            if said.t > t:
                return
            yield said.message

    def _to_come(self, t: float) -> Iterator[Said]:
        """What follows, and the beat between."""
        beat_s = BEAT_S * self._played.speed
        beat = t + beat_s
        for said in self._played.tape.after(t):
            while beat <= said.t:
                yield Said(beat, {"type": "tick", "t": beat})
                beat += beat_s
            yield said

    def _whole(self, whole: Said, t: float) -> Json:
        """A snapshot of the tape as that of a cook which stands at ``t`` now."""
        played, wall = self._played, self._clock.wall()
        cook = whole.message["cook"]
        moved = wall - timedelta(seconds=t) - datetime.fromisoformat(cook["started"])
        return {
            **whole.message,
            "cook": {
                **cook,
                "id": f"{played.site.site}-{wall:%Y%m%d%H%M%S}-{self._cooks}",
                "started": _moved(cook["started"], moved),
                "window": {name: _moved(at, moved) for name, at in cook["window"].items()},
            },
            "t": t,
            "wall": wall.isoformat(timespec="seconds"),
            "speed": played.speed,
            "mode": "demo",
            "unit": "F",
            "ends_t": None,
            "banner": None,
            "probes": [_probe(steak) for steak in whole.message["steaks"]],
            "adapter": None,
            "readiness": _READY,
            "outlets": [],
        }


def _moved(wall: str, by: timedelta) -> str:
    return (datetime.fromisoformat(wall) + by).isoformat(timespec="seconds")


def _probe(steak: Json) -> Json:
    reading = steak["reading"]
    return {
        "channel": steak["channel"],
        "device": steak["channel"],
        "name": f"{steak['steak']} steak",
        "standard": "simulated",
        "state": "streaming",
        "celsius": reading["celsius"] if reading else None,
        "battery_percent": None,
        "rssi_dbm": None,
        "age_s": 0.0,
        "attempts": 1,
        "refused": 0,
        "note": "",
        "steak": steak["steak"],
        "is_grate": False,
    }
