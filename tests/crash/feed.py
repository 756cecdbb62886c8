"""A simulated cook at life's speed, whose probes speak through a gateway.

The gateway lives outside of the daemon and does not know when it is killed: what was sent, and
when, is known here whatever becomes of it.
"""

from __future__ import annotations

import asyncio
import json
import time
from collections.abc import Callable
from dataclasses import dataclass, replace

from pullcall.bus.connection import connected
from pullcall.bus.options import BrokerOptions
from pullcall.events import Mark, Reading
from pullcall.simulators.kitchen import Kitchen
from pullcall.simulators.scenario import Pulls, Scenario, scenario
from pullcall.simulators.steak import Cut

#: Devices of the gateway, by the channel that the simulator gives them.
DEVICES = {"simulated-1/0": "left", "simulated-2/0": "right", "simulated-3/0": "pit"}
#: Steaks that are quick: life's speed cannot be hurried, the meat can be thinner.
_CUTS = (Cut(27.0, 20.0), Cut(22.0, 24.0))


def channel(device: str) -> str:
    """The daemon's name for what a device sends."""
    return f"mqtt:gate-{device}/1"


PROBES = f"""
[[mqtt.probe]]
name = "gate"
topic = "gateway/+/state"
json = "$.temperature"
[fire]
probe = "{channel("pit")}"
[[steak]]
name = "left"
probe = "{channel("left")}"
thickness_mm = 27
start = "20 C"
target = "57 C"
[[steak]]
name = "right"
probe = "{channel("right")}"
thickness_mm = 27
start = "20 C"
target = "57 C"
"""


def quick_cook(number: int) -> Scenario:
    """The demo's cook with thinner steaks: each ``number`` is another day."""
    cut = _CUTS[number % len(_CUTS)]
    demo = scenario("demo", number + 1)
    steaks = tuple(
        replace(
            scene,
            cut=cut,
            probe=scene.probe and replace(scene.probe, depth_mm=cut.thickness_mm / 2.0 - 1.0),
        )
        for scene in demo.steaks
    )
    # Slow to pull: "pull now" and "over" live for a while, and are killed.
    habits = replace(
        demo.habits,
        pulls=Pulls.WHEN_TOLD,
        pull_reaction_s=(12.0, 20.0),
        boxed_s=60.0,
        handed_in_s=40.0,
    )
    return replace(demo, steaks=steaks, habits=habits)


@dataclass(frozen=True, slots=True)
class Sent:
    """One value as it left the gateway; ``at`` is the machine's monotonic clock, seconds."""

    at: float
    device: str
    celsius: float


class Feed:
    """Sends what the probes read, and tells ``on_act`` what the simulated cook does.

    Every value differs from the hundred before it of its device, so that it is known again.
    """

    def __init__(self, options: BrokerOptions, on_act: Callable[[Mark, float], None]) -> None:
        self.sent: list[Sent] = []
        #: Whether the probes are silent.
        self.is_quiet = False
        self._options = options
        self._on_act = on_act
        self._count = 0
        self.begin(quick_cook(0))

    def begin(self, chosen: Scenario) -> None:
        """Begin this cook now."""
        self.kitchen = Kitchen(chosen)
        self._zero = time.monotonic()

    def now(self) -> float:
        """Seconds since the simulated cook began."""
        return time.monotonic() - self._zero

    def told_to_pull(self, steak: str) -> None:
        """Somebody heard that this steak is to come off."""
        self.kitchen.told_to_pull(steak, self.now())

    def is_over(self) -> bool:
        """Whether the simulated cook has long done everything."""
        pulled = [self.kitchen.outcome(s.steak).pull_s for s in self.kitchen.scenario.steaks]
        done = [p for p in pulled if p is not None]
        return len(done) == len(pulled) and self.now() > max(done) + 110.0

    async def run(self) -> None:
        """Send until cancelled."""
        async with connected(self._options, "gateway") as client:
            while True:
                for event in self.kitchen.advance(self.now()):
                    if isinstance(event, Mark):
                        self._on_act(event, self._zero + event.t)
                    elif isinstance(event, Reading) and not self.is_quiet:
                        sent = self._next(event)
                        payload = json.dumps({"temperature": sent.celsius})
                        await client.publish(f"gateway/{sent.device}/state", payload)
                await asyncio.sleep(max(0.0, self.kitchen.next_at() - self.now()))

    def _next(self, reading: Reading) -> Sent:
        self._count += 1
        known_again = (self._count * 37 % 100) / 1000.0
        value = round(round(reading.celsius, 1) + known_again, 3)
        sent = Sent(time.monotonic(), DEVICES[str(reading.channel)], value)
        self.sent.append(sent)
        return sent
