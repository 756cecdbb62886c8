"""What a site last said on each of its topics."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, fields

from pydantic import BaseModel

from pullcall.board.delivery import Slot
from pullcall.bus import payloads
from pullcall.bus.channels import Place
from pullcall.core.curve import Curve

OF_LANE = ("steak", "reading", "forecast", "curve")
#: Topics that begin anew with another cook; of the others the site itself speaks.
OF_COOK = frozenset((*OF_LANE, "deeds", "calls", "schedule", "plan", "grate", "proposals"))


@dataclass(slots=True)
class Lane:
    """One of the two steaks."""

    steak: payloads.Steak | None = None
    reading: payloads.Reading | None = None
    forecast: payloads.Forecast | None = None
    curve: payloads.Curve | None = None
    #: The curve with the readings that came after it.
    drawn: Curve = field(default_factory=Curve)

    def draw(self) -> None:
        """Begin the curve anew from what was said."""
        self.drawn = Curve(self.curve.points if self.curve else ())
        if self.reading is not None:
            self.drawn.add(self.reading.t, self.reading.celsius)


@dataclass(slots=True)
class SiteState:
    """One field for each channel, of its name; None: nothing yet, or nothing any more."""

    presence: payloads.Presence | None = None
    pulse: payloads.Pulse | None = None
    cook: payloads.Cook | None = None
    deeds: payloads.Deeds | None = None
    calls: payloads.Calls | None = None
    schedule: payloads.Schedule | None = None
    plan: payloads.Planned | None = None
    grate: payloads.Grate | None = None
    proposals: payloads.Proposals | None = None
    probes: payloads.Probes | None = None
    around: payloads.Around | None = None
    lanes: tuple[Lane, Lane] = field(default_factory=lambda: (Lane(), Lane()))

    def put(self, place: Place, payload: BaseModel | None) -> BaseModel | None:
        """Keep what a topic says now; gives what it said before."""
        holder = self if place.lane is None else self.lanes[place.lane - 1]
        before: BaseModel | None = getattr(holder, place.channel.name)
        setattr(holder, place.channel.name, payload)
        return before

    def known(self) -> Iterator[Slot]:
        """The topics of which something is known."""
        for one in fields(self):
            if one.name != "lanes" and getattr(self, one.name) is not None:
                yield one.name, None
        for number, lane in enumerate(self.lanes, 1):
            said = [name for name in OF_LANE if getattr(lane, name) is not None]
            if lane.curve is None and lane.drawn.points():
                said.append("curve")
            yield from ((name, number) for name in said)

    def forget(self, slot: Slot) -> None:
        """Know nothing of a topic."""
        name, number = slot
        holder = self if number is None else self.lanes[number - 1]
        setattr(holder, name, None)
        if isinstance(holder, Lane) and name == "curve":
            holder.draw()

    def shown(self) -> tuple[tuple[str, Lane], ...]:
        """The steaks that are known well enough to be shown, by name, the first lane first.

        Those of a cook that has just begun are not, until each has said where it stands.
        """
        names = self.cook.steaks if self.cook else [s.steak for s in self._steaks()]
        lanes = zip(names, self.lanes, strict=False)
        return tuple((n, lane) for n, lane in lanes if lane.steak and lane.steak.steak == n)

    def _steaks(self) -> list[payloads.Steak]:
        return [lane.steak for lane in self.lanes if lane.steak]
