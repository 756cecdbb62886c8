"""A simulated cook as its site publishes it, with the site's own snapshots beside."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from dataclasses import asdict, dataclass, field
from functools import cache
from typing import Any

from pullcall.board.roster import Roster
from pullcall.board.stamp import Stamp, stamp_of
from pullcall.bus.channels import place_of
from pullcall.bus.options import SiteOptions
from pullcall.bus.publication import Publication
from pullcall.bus.site_voice import SiteVoice
from pullcall.core.cook import Cook
from pullcall.hindsight.study import steps
from pullcall.log.cook_file import CookFile
from pullcall.site.hub import Hub, Listener
from pullcall.site.view import View
from pullcall.sources.sink import AdapterState, AdapterStatus, LinkState, ProbeStatus
from tests.recorded import short_cook

Json = dict[str, Any]
#: The board's seconds at the cook's zero.
ZERO = 5000.0
#: Cook seconds at which the site's own snapshot is kept too: idle, on, off, resting, over.
SNAPSHOTS = (5.0, 41.0, 100.0, 200.0, 290.0, 400.0)
_PROBE = ProbeStatus("thin-1/0", "thin-1", "left probe", "simulated", LinkState.STREAMING, 21.5)
_AROUND: Json = {
    "probes": [{**asdict(_PROBE), "steak": "left", "is_grate": False}],
    "adapter": asdict(AdapterStatus("hci0", AdapterState.OK)),
    "readiness": [{"name": "heard", "ok": True, "words": "Calls are heard", "celsius": None}],
    "outlets": [{"name": "phones", "kind": "phones", "state": "ok", "note": ""}],
}


@dataclass(frozen=True, slots=True)
class Moment:
    """What a site said at ``t`` cook seconds, to its pages and to its broker.

    ``snapshot`` is its own then, at the first moment and those of ``SNAPSHOTS``.
    """

    t: float
    lines: tuple[Json, ...]
    publications: tuple[Publication, ...]
    snapshot: Json = field(default_factory=dict)


class PublishingSite:
    """The site of one recorded cook."""

    def __init__(self, cook: CookFile, site: str = "north", name: str = "North grill") -> None:
        self.cook = Cook(cook.header)
        self.hub = Hub()
        self.view = View(self.cook, self.hub)
        self.voice = SiteVoice(SiteOptions(site, name), "1")
        self._inputs = cook.inputs
        self._pages = self.hub.join()

    def moments(self) -> Iterator[Moment]:
        """Every step of the cook."""
        self.voice.take({"type": "snapshot", **self.snapshot(0.0)}, ZERO)
        yield self._moment(0.0)
        for event, effects, t in steps(self.cook, self._inputs):
            if event is not None:
                self.view.show_input(event)
            else:
                self.hub.whisper("tick", {"t": t})
            self.view.show_effects(effects, t)
            yield self._moment(t)

    def snapshot(self, t: float) -> Json:
        """As the daemon tells it."""
        return {
            "epoch": self.hub.epoch,
            "seq": self.hub.seq,
            "wall": "2026-06-13T13:40:00+00:00",
            "speed": 1,
            "mode": "live",
            "unit": "C",
            "ends_t": None,
            "banner": "The disk is slow.",
            **self.view.snapshot(t),
            **_AROUND,
        }

    def _moment(self, t: float) -> Moment:
        lines = tuple(taken(self._pages))
        for line in lines:
            self.voice.take(line, ZERO + t)
        said = tuple(iter(lambda: self.voice.next(ZERO + t), None))
        if t not in (0.0, *SNAPSHOTS):
            return Moment(t, lines, said)
        return Moment(t, lines, said, json.loads(json.dumps(self.snapshot(t))))


@cache
def short_moments() -> tuple[Moment, ...]:
    """Those of a short cook of two steaks."""
    return tuple(PublishingSite(short_cook()).moments())


def until(t: float) -> tuple[Moment, ...]:
    """The moments of the short cook up to ``t`` cook seconds."""
    return tuple(moment for moment in short_moments() if moment.t <= t)


def kept(moments: Iterable[Moment]) -> dict[str, Publication]:
    """What a broker keeps of all that, by topic."""
    broker: dict[str, Publication] = {}
    for publication in (p for moment in moments for p in moment.publications):
        if publication.payload:
            broker[publication.topic] = publication
        else:
            broker.pop(publication.topic, None)
    return broker


def hear(roster: Roster, moments: Iterable[Moment]) -> None:
    """Let a board hear all that live."""
    for moment in moments:
        for publication in moment.publications:
            give(roster, publication, ZERO + moment.t)
        roster.settle(ZERO + moment.t)


def give(roster: Roster, one: Publication, now: float, is_retained: bool = False) -> None:
    """Hand one message to a board."""
    left_s = one.expires_s if is_retained else None
    roster.take(one.topic, one.payload, is_retained, _stamp(one, left_s), now)


def _stamp(publication: Publication, left_s: int | None) -> Stamp:
    return stamp_of(publication.user, left_s)


def taken(listener: Listener) -> list[Json]:
    """What a page got since."""
    lines: list[Json] = []
    while not listener.queue.empty():
        lines.append(json.loads(listener.queue.get_nowait() or "null"))
    return lines


def plain(snapshot: Json) -> Json:
    """A snapshot without what a board tells in its own way (docs/sites.md)."""
    told = json.loads(json.dumps(snapshot))
    for key in ("epoch", "seq", "wall", "heard_s", "type"):
        told.pop(key, None)
    return dict(told)


def channel_of(publication: Publication) -> str:
    """Of which kind a message is."""
    place = place_of(publication.topic)
    assert place is not None
    return place.channel.name
