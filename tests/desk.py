"""A desk for tests: one loudspeaker that keeps what it was given instead of playing it."""

from __future__ import annotations

import asyncio
from collections.abc import Sequence

from pullcall.clock import RealClock
from pullcall.events import Call
from pullcall.outlets.desk import Desk
from pullcall.outlets.outlet import Burst, OutletKind, OutletState, OutletStatus, Report, Reports
from pullcall.outlets.phones import Phones


class KeptSpeaker:
    """Plays at once into ``bursts``, or fails while ``is_broken``."""

    name = "loudspeaker"
    kind = OutletKind.LOUDSPEAKER

    def __init__(self) -> None:
        self.bursts: list[Burst] = []
        self.silenced: list[str] = []
        self.is_broken = False
        self._report: Reports | None = None

    async def run(self, report: Reports) -> None:
        self._report = report
        await asyncio.Event().wait()

    def begin_cook(self, steaks: Sequence[str]) -> None:
        pass

    def announce(self, burst: Burst) -> None:
        self.bursts.append(burst)
        for call in burst:
            if self._report is not None:
                self._report(Report(call, self.name, not self.is_broken, RealClock().monotonic()))

    def silence(self, call_id: str) -> None:
        self.silenced.append(call_id)

    def status(self) -> OutletStatus:
        state = OutletState.FAILING if self.is_broken else OutletState.OK
        return OutletStatus(self.name, self.kind, state)

    def said(self) -> list[Call]:
        """Every call, in order."""
        return [call for burst in self.bursts for call in burst]


def desk_with(speaker: KeptSpeaker) -> Desk:
    clock = RealClock()
    return Desk(Phones(clock), [speaker], clock)


def heard_desk() -> Desk:
    """A desk that somebody hears."""
    return desk_with(KeptSpeaker())
