"""A source like any other, whose probes are in a simulated kitchen."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from contextlib import suppress

from pullcall.clock import Clock
from pullcall.errors import PullcallError, UnknownNameError
from pullcall.events import Mark, MarkKind, Reading
from pullcall.simulators.kitchen import Event, Kitchen
from pullcall.simulators.scenario import Scenario, SteakScene
from pullcall.sources.sink import AdapterStatus, ChannelReading, LinkState, ProbeStatus, Sink

OnMark = Callable[[MarkKind, str | None], Awaitable[None]]
OnSpot = Callable[[str, float], Awaitable[None]]

#: A value older than this is shown as stale: three intervals of the usual 2 Hz, at least 3 s.
STALE_S = 3.0


class SimulatedSource:
    """Runs a scenario on a clock, from the moment that :meth:`run` starts first.

    ``on_mark`` and ``on_spot`` take what the simulated cook does: the kind of mark and the
    steak (None: the grill), a steak and its temperature. What they refuse is let go: the cook
    has done it all the same.
    """

    def __init__(
        self,
        scenario: Scenario,
        clock: Clock,
        on_mark: OnMark | None = None,
        on_spot: OnSpot | None = None,
    ) -> None:
        self.scenario = scenario
        self.kitchen = Kitchen(scenario)
        self._clock = clock
        self._on_mark = on_mark
        self._on_spot = on_spot
        self._zero: float | None = None
        self._last: dict[str, ChannelReading] = {}

    async def run(self, sink: Sink) -> None:
        """Deliver readings to ``sink`` until cancelled. The kitchen never closes: what was cooked
        while nobody ran it is there at the next run."""
        if self._zero is None:
            self._zero = self._clock.monotonic()
        while True:
            await self._clock.sleep_until(self._zero + self.kitchen.next_at())
            kitchen = self.kitchen
            for event in kitchen.advance(self._now()):
                if kitchen is self.kitchen:  # else another cook began meanwhile
                    await self._deliver(event, sink)

    def hear(self, mark: Mark) -> None:
        """Let a mark that somebody tapped change the cook, now. Its own ``t`` is not used.

        Marks that this source delivered may be told back to it: they are known and done. A mark
        of a steak that this kitchen does not have (a cook with other steaks began) changes nothing.
        """
        with suppress(UnknownNameError):
            self.kitchen.apply(Mark(self._now(), mark.steak, mark.mark))

    def told_to_pull(self, steak: str) -> None:
        """Tell the simulated cook to take a steak off."""
        self.kitchen.told_to_pull(steak, self._now())

    def begin_again(self, scenario: Scenario) -> None:
        """Another cook begins now, in a kitchen of its own, with probes on the same channels."""
        self.scenario = scenario
        self.kitchen = Kitchen(scenario)
        self._zero = self._clock.monotonic()

    def probes(self) -> tuple[ProbeStatus, ...]:
        """Every probe of the scenario, as of now."""
        channels = [(scene.channel or "", _battery(scene)) for scene in self._probed()]
        if self.scenario.grate_channel is not None:
            channels.append((self.scenario.grate_channel, None))
        return tuple(self._status(i, *found) for i, found in enumerate(channels, start=1))

    def adapter(self) -> AdapterStatus | None:
        """There is no adapter."""
        return None

    def _probed(self) -> list[SteakScene]:
        return [scene for scene in self.scenario.steaks if scene.probe and scene.channel]

    def _now(self) -> float:
        return 0.0 if self._zero is None else self._clock.monotonic() - self._zero

    async def _deliver(self, event: Event, sink: Sink) -> None:
        if isinstance(event, Reading):
            if event.channel is not None:
                at = self._clock.monotonic()
                reading = ChannelReading(event.channel, event.celsius, at)
                self._last[event.channel] = reading
                sink.reading(reading)
            return
        with suppress(PullcallError):
            if isinstance(event, Mark):
                if self._on_mark is not None:
                    await self._on_mark(event.mark, event.steak)
            elif self._on_spot is not None and event.steak is not None:
                await self._on_spot(event.steak, event.celsius)

    def _status(self, number: int, channel: str, battery: int | None) -> ProbeStatus:
        last = self._last.get(channel)
        age = None if last is None else max(0.0, self._clock.monotonic() - last.at)
        if age is None:
            state = LinkState.SEARCHING
        else:
            state = LinkState.STREAMING if age <= STALE_S else LinkState.STALE
        return ProbeStatus(
            channel=channel,
            device=channel.split("/", maxsplit=1)[0],
            name=f"Simulated probe {number}",
            standard="simulated",
            state=state,
            celsius=None if last is None else last.celsius,
            battery_percent=battery,
            age_s=age,
        )


def _battery(scene: SteakScene) -> int | None:
    return scene.probe.battery_percent if scene.probe else None
