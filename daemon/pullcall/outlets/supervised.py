"""One outlet under supervision: its failures stay its own."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from pullcall.outlets.outlet import (
    Burst,
    Outlet,
    OutletKind,
    OutletState,
    OutletStatus,
    Report,
    Reports,
)
from pullcall.supervision import Edge


class Supervised:
    """Offers what an outlet offers; whatever the outlet raises is logged, noted and kept here.

    An outlet whose ``run`` ends is started again, each time later, up to half a minute; one that
    delivered a call since starts again soon.
    """

    def __init__(self, outlet: Outlet, edge: Edge) -> None:
        self.name = outlet.name
        self.kind: OutletKind = outlet.kind
        self._outlet = outlet
        self._edge = edge

    async def run(self, report: Reports) -> None:
        """Run the outlet until cancelled."""

        def passed_on(done: Report) -> None:
            if done.played:
                self._edge.works()
            report(done)

        await self._edge.keep(lambda: self._outlet.run(passed_on))

    def begin_cook(self, steaks: Sequence[str]) -> None:
        """See :class:`Outlet`."""
        self._edge.guard(lambda: self._outlet.begin_cook(steaks))

    def announce(self, burst: Burst) -> None:
        """See :class:`Outlet`."""
        self._edge.guard(lambda: self._outlet.announce(burst))

    def silence(self, call_id: str) -> None:
        """See :class:`Outlet`."""
        self._edge.guard(lambda: self._outlet.silence(call_id))

    def status(self) -> OutletStatus:
        """The outlet's own status; failing while it does not run."""
        status = self._edge.guard(self._outlet.status)
        if status is None:
            note = f"The {self.name} outlet cannot tell how it is: start Pullcall again."
            return OutletStatus(self.name, self.kind, OutletState.FAILING, note)
        if self._edge.note:
            return replace(status, state=OutletState.FAILING, note=self._edge.note)
        return status
