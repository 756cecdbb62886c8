"""Every topic of a site in one table: what is on it, and how it is sent.

The AsyncAPI file, what a site publishes and what a board subscribes to follow from this table.
"""

from __future__ import annotations

from dataclasses import dataclass

from pydantic import BaseModel

from pullcall.bus import payloads
from pullcall.bus.options import SITE

#: The first two levels: the product, and the version of this table.
ROOT = "pullcall/1"
#: Retained state that nobody renewed for a day is forgotten by the broker, seconds.
_A_DAY = 86_400


@dataclass(frozen=True, slots=True)
class Channel:
    """One kind of message. ``address`` is below a site's own branch; ``{lane}`` is 1 or 2.

    ``expires_s`` is how long the broker keeps it undelivered, at most.
    """

    name: str
    address: str
    payload: type[BaseModel] | None
    qos: int
    retained: bool
    expires_s: int
    summary: str

    def topic(self, site: str, lane: int | None = None) -> str:
        """The whole topic of one site (and of one steak)."""
        return f"{ROOT}/{site}/{self.address.replace('{lane}', str(lane))}"

    def filter(self) -> str:
        """What to subscribe to for every site."""
        return f"{ROOT}/+/{self.address.replace('{lane}', '+')}"


PRESENCE = Channel(
    "presence", "presence", payloads.Presence, 1, True, 7 * _A_DAY, "Whether it is there"
)
PULSE = Channel("pulse", "pulse", payloads.Pulse, 0, True, _A_DAY, "Its clock, each second")
COOK = Channel("cook", "cook", payloads.Cook, 1, True, _A_DAY, "The cook's settings")
STEAK = Channel("steak", "steak/{lane}", payloads.Steak, 1, True, _A_DAY, "Where a steak stands")
READING = Channel(
    "reading", "steak/{lane}/reading", payloads.Reading, 0, True, _A_DAY, "Its latest reading"
)
FORECAST = Channel(
    "forecast", "steak/{lane}/forecast", payloads.Forecast, 0, True, 120, "Its forecast"
)
CURVE = Channel(
    "curve", "steak/{lane}/curve", payloads.Curve, 0, True, _A_DAY, "Its readings so far, thinned"
)
DEEDS = Channel("deeds", "deeds", payloads.Deeds, 1, True, _A_DAY, "Marks and spots")
CALLS = Channel(
    "calls", "calls", payloads.Calls, 1, True, _A_DAY, "The last calls, and how alarms stand"
)
SCHEDULE = Channel("schedule", "schedule", payloads.Schedule, 1, True, 120, "The calls to come")
PLAN = Channel("plan", "plan", payloads.Planned, 0, True, _A_DAY, "The plan as it stands")
GRATE = Channel("grate", "grate", payloads.Grate, 0, True, _A_DAY, "The grate")
PROPOSALS = Channel(
    "proposals", "proposals", payloads.Proposals, 1, True, _A_DAY, "Marks that the readings suggest"
)
PROBES = Channel(
    "probes", "probes", payloads.Probes, 0, True, _A_DAY, "Every probe, each few seconds"
)
AROUND = Channel("around", "around", payloads.Around, 0, True, _A_DAY, "Readiness and outlets")
#: Each announcement as it is made; it expires as soon as it would mislead (see outgoing calls).
CALL = Channel("call", "call", payloads.Call, 1, False, 300, "One call, as it is announced")
#: Each line of the cook log (docs/cook-log.md), late ones too: nothing is missing in the end.
RECORD = Channel("record", "record", None, 1, False, _A_DAY, "Each record of the cook log")

#: What a board needs: all of it retained, so that a board that starts has it at once.
STATE = (
    PRESENCE, PULSE, COOK, STEAK, READING, FORECAST, CURVE, DEEDS,
    CALLS, SCHEDULE, PLAN, GRATE, PROPOSALS, PROBES, AROUND,
)  # fmt: skip
EVERY = (*STATE, CALL, RECORD)


@dataclass(frozen=True, slots=True)
class Place:
    """What a topic means."""

    site: str
    channel: Channel
    lane: int | None


def place_of(topic: str) -> Place | None:
    """The site, channel and lane of a topic; None for one that is none of a site's."""
    head, _, rest = topic.removeprefix(f"{ROOT}/").partition("/")
    if not topic.startswith(f"{ROOT}/") or SITE.fullmatch(head) is None:
        return None
    levels = rest.split("/")
    lane = None
    if levels[0] == "steak" and len(levels) > 1:
        if levels[1] not in ("1", "2"):
            return None
        lane = int(levels[1])
        levels[1] = "{lane}"
    channel = _BY_ADDRESS.get("/".join(levels))
    return None if channel is None else Place(head, channel, lane)


_BY_ADDRESS = {channel.address: channel for channel in EVERY}
