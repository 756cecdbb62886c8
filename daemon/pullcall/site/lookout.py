"""What the site sees around the cook: who hears, the clock, the probes, the disk."""

from __future__ import annotations

import errno
import os
from dataclasses import asdict
from pathlib import Path
from typing import Any

from pullcall.bus.status import BusState, BusStatus
from pullcall.clock import Clock, RealClock
from pullcall.core.cook import Cook
from pullcall.events import Condition
from pullcall.outlets.desk import Desk
from pullcall.outlets.outlet import OutletState
from pullcall.site.left_out import left_out
from pullcall.site.open_cook import OpenCook
from pullcall.site.readiness import Around, ClockSight, readiness
from pullcall.site.time_of_day import TimeOfDay
from pullcall.site.wall_clock import Trust
from pullcall.site.watchman import Sight, Watchman
from pullcall.sources.sink import ProbeStatus, Way
from pullcall.supervision import Trouble

#: What was begun only just now is not missed yet: links take some seconds to come up.
_SETTLES_S = 15.0


class Lookout:
    """Looks once a second, and whenever a page asks.

    ``clock`` is the cook's, which may run faster than life; phones and outlets are counted in
    real seconds all the same.
    """

    def __init__(self, clock: Clock, desk: Desk, log: Path, trust: Trust) -> None:
        self._clock = clock
        self._real = RealClock()
        self._began = self._real.monotonic()
        self._desk = desk
        self.time_of_day = TimeOfDay(trust)
        self._watchman = Watchman(log)
        self._opened: OpenCook | None = None

    def take_up(self, opened: OpenCook, t: float) -> None:
        """Begin with a cook at ``t`` of its seconds."""
        self._opened = opened
        self.time_of_day.take_up(opened, self._clock.wall(), t)

    def conditions(
        self, cook: Cook, probes: tuple[ProbeStatus, ...], is_recording: bool, t: float
    ) -> list[Condition]:
        """The faults that began or ended since the last look, as inputs at ``t`` cook seconds."""
        sight = Sight(
            wall=self._clock.wall(),
            monotonic=self._clock.monotonic(),
            is_heard=self.is_heard(),
            is_recording=is_recording,
            probes=tuple(probe for probe in probes if probe.channel in _own_channels(cook)),
            doubt=self.time_of_day.doubt,
            is_asked=self.time_of_day.asked_s is not None,
        )
        return self._watchman.changes(sight, cook.faults(), t)

    def state(
        self,
        cook: Cook,
        probes: tuple[ProbeStatus, ...],
        taught: tuple[str, ...],
        broker: BusStatus | None = None,
        troubles: tuple[Trouble, ...] = (),
        ways: tuple[Way, ...] = (),
    ) -> dict[str, Any]:
        """Whether a cook could begin, and how the outlets are, as pages are told; ``broker`` is
        how the way to it is, where there is one, ``troubles`` is what does not go, ``ways`` are
        those that readings come by."""
        clock = ClockSight(self.time_of_day.doubt, self.time_of_day.asked_s)
        is_settling = self._real.monotonic() - self._began < _SETTLES_S
        around = Around(
            self.is_heard(),
            clock,
            probes,
            taught,
            broker,
            troubles,
            ways,
            is_settling,
            has_files(),
            self._left_out(cook),
        )
        outlets = [
            {"name": o.name, "kind": str(o.kind), "state": str(o.state), "note": o.note}
            for o in self._desk.statuses()
        ]
        return {
            "readiness": [asdict(check) for check in readiness(cook, around)],
            "outlets": [*outlets, *([] if broker is None else [_broker_record(broker)])],
        }

    def is_heard(self) -> bool:
        """Whether somebody would hear a call now."""
        return self._desk.is_heard(self._real.monotonic())

    def _left_out(self, cook: Cook) -> tuple[str, ...]:
        """What this cook goes on without: one that began since has all."""
        if self._opened is None or self._opened.core is not cook:
            return ()
        return tuple(left_out(one, cook.setup) for one in self._opened.omissions)

    def phone_seen(self, phone: str, armed: bool) -> None:
        """A phone is here; ``armed`` says whether it sounds calls."""
        self._desk.phones.seen(phone, armed, self._real.monotonic())

    def receipt(self, phone: str, call: str) -> None:
        """A phone sounded a call."""
        self._desk.phones.receipt(phone, call, self._real.monotonic())


def has_files() -> bool:
    """Whether the process may still open a file or a socket."""
    try:
        os.close(os.open(os.devnull, os.O_RDONLY))
    except OSError as exc:
        return exc.errno not in (errno.EMFILE, errno.ENFILE)
    return True


def _broker_record(broker: BusStatus) -> dict[str, Any]:
    """The way to the broker as an outlet: it carries the calls, too."""
    states = {BusState.OK: OutletState.OK, BusState.FAILING: OutletState.FAILING}
    state = states.get(broker.state, OutletState.OFF)
    return {"name": "broker", "kind": "broker", "state": str(state), "note": broker.note}


def _own_channels(cook: Cook) -> frozenset[str | None]:
    """Those of its steaks and its grate: others in range are other cooks' to look after."""
    steaks = (steak.settings.channel for steak in cook.steaks.values())
    return frozenset((*steaks, cook.setup.fire.channel))
