"""The kitchen: fire, steaks, probes and the simulated cook, moved together through time."""

from __future__ import annotations

from dataclasses import dataclass
from random import Random

from pullcall.errors import UnknownNameError
from pullcall.events import Mark, MarkKind, Reading, Spot
from pullcall.simulators.cook import SimulatedCook
from pullcall.simulators.fire import Fire
from pullcall.simulators.probe import Probe
from pullcall.simulators.scenario import Scenario, SteakScene
from pullcall.simulators.steak import Place, Steak

TICK_S = 0.5
#: The probe at the grate speaks this often, seconds, and is this noisy, Celsius.
GRATE_INTERVAL_S = 2.0
GRATE_NOISE_C = 1.5
#: The same act on the same steak within this time is the one act, told twice.
SAME_ACT_S = 5.0

Event = Reading | Spot | Mark


@dataclass(frozen=True, slots=True)
class Outcome:
    """What really happened to one steak: seconds and Celsius, None for not yet.

    ``cross_s`` is when the probe's noise-free temperature (without a probe, the centre's)
    reached the pull temperature, ``peak_c`` the highest that place has been.
    """

    steak: str
    cross_s: float | None
    pull_s: float | None
    peak_c: float
    peak_s: float


class _Station:
    """One steak with its probe, and what has been seen of it."""

    def __init__(self, scene: SteakScene, seed: str) -> None:
        self.scene = scene
        self.steak = Steak(scene.cut)
        start_c = scene.cut.start_c
        rng = Random(f"{seed}/probe/{scene.steak}")
        self.probe = Probe(scene.probe, start_c, rng) if scene.probe else None
        self.depth_mm = scene.cut.thickness_mm / 2.0
        if scene.probe and scene.probe.depth_mm is not None:
            self.depth_mm = scene.probe.depth_mm
        self.spots_due: list[float] = []
        self.cross_s: float | None = None
        self.pull_s: float | None = None
        self.peak_c, self.peak_s = start_c, 0.0

    @property
    def watched_c(self) -> float:
        """The core as its probe has it, without noise; bare, the meat at the centre."""
        return self.probe.element_c if self.probe else self.steak.at(self.depth_mm)

    def follow(self, begin: float, end: float) -> list[Event]:
        """Read the probe over one tick and note crossing and peak."""
        before, meat_c = self.watched_c, self.steak.at(self.depth_mm)
        readings = self.probe.follow(begin, end, meat_c) if self.probe else []
        if self.cross_s is None and self.watched_c >= self.scene.pull_c:
            rise = self.watched_c - before
            share = (self.scene.pull_c - before) / rise if rise > 0.0 else 1.0
            self.cross_s = begin + (end - begin) * min(max(share, 0.0), 1.0)
        if meat_c > self.peak_c:
            self.peak_c, self.peak_s = meat_c, end
        return [Reading(round(t, 3), None, c, self.scene.channel) for t, c in readings]


class Kitchen:
    """A scenario under way. Time is in seconds from its start; chance comes from its seed."""

    def __init__(self, scenario: Scenario) -> None:
        self.scenario = scenario
        seed = f"{scenario.name}/{scenario.seed}"
        self._fire = Fire(scenario.fire, Random(f"{seed}/fire"))
        self._stations = {scene.steak: _Station(scene, seed) for scene in scenario.steaks}
        self._cook = SimulatedCook(scenario, Random(f"{seed}/cook"))
        self._spot_rng = Random(f"{seed}/spots")
        self._grate_rng = Random(f"{seed}/grate")
        self._ticks = 0
        self._lid_open = not scenario.habits.opens_lid
        self._ahead: list[Event] = []
        self._done: dict[tuple[str, MarkKind], float] = {}

    @property
    def grate_c(self) -> float:
        """The grate's temperature, Celsius."""
        return self._fire.grate_c

    def core_c(self, steak: str) -> float:
        """The temperature of a steak's centre, Celsius."""
        return self._station(steak).steak.core_c()

    def outcome(self, steak: str) -> Outcome:
        """What has really happened to a steak so far."""
        s = self._station(steak)
        return Outcome(steak, s.cross_s, s.pull_s, s.peak_c, s.peak_s)

    def advance(self, now: float) -> list[Event]:
        """Move on to ``now`` and return the events since the last call, in time order."""
        while self._ticks * TICK_S <= now:
            self._tick()
        due = [event for event in self._ahead if event.t <= now]
        self._ahead = [event for event in self._ahead if event.t > now]
        return due

    def next_at(self) -> float:
        """No event comes before this time; :meth:`advance` to it, then ask again."""
        return min((event.t for event in self._ahead), default=self._ticks * TICK_S)

    def apply(self, mark: Mark) -> bool:
        """Let somebody's act change the physics; say whether it did.

        The simulated cook will not repeat it, and an act the cook has just done is not done
        twice. Raises UnknownNameError for a steak that is not here.
        """
        waiting = [e for e in self._ahead if isinstance(e, Mark) and _same(e, mark)]
        self._ahead = [e for e in self._ahead if e not in waiting]
        return self._act(mark, own=False)

    def told_to_pull(self, steak: str, now: float) -> None:
        """Tell the simulated cook to take a steak off."""
        self._station(steak)
        self._cook.told_to_pull(steak, now)

    def _tick(self) -> None:
        begin, end = self._ticks * TICK_S, (self._ticks + 1) * TICK_S
        cores = {name: station.watched_c for name, station in self._stations.items()}
        acts = self._cook.acts(begin, end, cores)
        events: list[Event] = [mark for mark in acts if self._act(mark, own=True)]
        self._fire.step(TICK_S, self._lid_open)
        for station in self._stations.values():
            station.steak.step(TICK_S, self._fire.grate_c, self.scenario.air_c, self._lid_open)
            events += [*station.follow(begin, end), *self._spots(station, end)]
        events += self._grate_reading(end)
        self._ahead += sorted(events, key=lambda event: event.t)
        self._ticks += 1

    def _grate_reading(self, now: float) -> list[Event]:
        """What the probe at the grate says, to the degree."""
        channel = self.scenario.grate_channel
        if channel is None or now % GRATE_INTERVAL_S:
            return []
        celsius = self._fire.grate_c + self._grate_rng.gauss(0.0, GRATE_NOISE_C)
        return [Reading(now, None, float(round(celsius)), channel)]

    def _act(self, mark: Mark, own: bool) -> bool:
        if mark.mark in (MarkKind.LID_OPEN, MarkKind.LID_CLOSE):
            changed = self._lid_open is not (mark.mark is MarkKind.LID_OPEN)
            self._lid_open = mark.mark is MarkKind.LID_OPEN
            self._cook.saw(mark, own)
            return changed
        names = tuple(self._stations) if mark.steak is None else (mark.steak,)
        touched = [name for name in names if self._touch(self._station(name), mark)]
        for name in touched:
            self._cook.saw(Mark(mark.t, name, mark.mark), own)
        return bool(touched)

    def _touch(self, station: _Station, mark: Mark) -> bool:
        """Do one act to one steak unless it has just been done or cannot be."""
        key = (station.scene.steak, mark.mark)
        if abs(mark.t - self._done.get(key, float("-inf"))) < SAME_ACT_S:
            return False
        steak, kind = station.steak, mark.mark
        if not _is_possible(kind, steak.place):
            return False
        self._done[key] = mark.t
        if kind is MarkKind.ON:
            steak.put_on()
            station.spots_due = [mark.t + after for after in self.scenario.habits.spots_s]
        elif kind is MarkKind.TURN:
            steak.turn()
        elif kind is MarkKind.FLIP:
            steak.flip()
        elif kind is MarkKind.BASTE:
            steak.baste()
        elif kind is MarkKind.OFF:
            steak.take_off(Place.BOARD if self.scenario.habits.rest_on == "board" else Place.RACK)
            station.pull_s, station.spots_due = mark.t, []
        elif kind is MarkKind.BOXED:
            steak.box()
        return True

    def _spots(self, station: _Station, now: float) -> list[Spot]:
        """Check a steak by hand if the cook meant to."""
        spots = []
        while station.spots_due and station.spots_due[0] <= now:
            station.spots_due.pop(0)
            reader = self.scenario.habits.spot_reader
            depth = reader.depth_mm(station.scene.cut.thickness_mm, self._spot_rng)
            figure = reader.figure(station.steak.at(depth), self._spot_rng)
            spots.append(Spot(round(now, 3), station.scene.steak, figure))
        return spots

    def _station(self, steak: str) -> _Station:
        if steak not in self._stations:
            known = ", ".join(self._stations)
            raise UnknownNameError(f"There is no steak “{steak}” in this cook; use {known}.")
        return self._stations[steak]


def _same(one: Mark, other: Mark) -> bool:
    return one.mark is other.mark and other.steak in (None, one.steak)


def _is_possible(kind: MarkKind, place: Place) -> bool:
    """Whether an act can be done to a steak that lies there."""
    if kind is MarkKind.ON:
        return place is Place.WAITING
    if kind in (MarkKind.BOXED, MarkKind.HANDED_IN):
        return place in (Place.RACK, Place.BOARD, Place.BOX)
    return place is Place.GRATE
