"""One outlet under supervision: its failures stay its own."""

from __future__ import annotations

import logging
from collections.abc import Callable, Sequence
from dataclasses import replace

from pullcall.clock import Clock
from pullcall.outlets.back_off import BackOff
from pullcall.outlets.outlet import (
    Burst,
    Outlet,
    OutletKind,
    OutletState,
    OutletStatus,
    Report,
    Reports,
)

_log = logging.getLogger(__name__)


class Supervised:
    """Offers what an outlet offers; whatever the outlet raises is logged, noted and kept here.

    An outlet whose ``run`` ends is started again, each time later, up to half a minute; one that
    delivered a call since starts again soon.
    """

    def __init__(self, outlet: Outlet, clock: Clock) -> None:
        self.name = outlet.name
        self.kind: OutletKind = outlet.kind
        self._outlet = outlet
        self._clock = clock
        self._back_off = BackOff()
        self._fault = ""

    async def run(self, report: Reports) -> None:
        """Run the outlet until cancelled."""

        def passed_on(done: Report) -> None:
            if done.played:
                self._back_off.reset()
            report(done)

        while True:
            self._fault = ""
            try:
                await self._outlet.run(passed_on)
                fault = "ended"
            except Exception as error:
                _log.warning("outlet %s stopped", self.name, exc_info=True)
                fault = f"stopped by a fault ({type(error).__name__})"
            wait_s = self._back_off.next()
            self._fault = (
                f"The {self.name} outlet {fault}: it is started again within {wait_s:.0f} s."
            )
            await self._clock.sleep_until(self._clock.monotonic() + wait_s)

    def begin_cook(self, steaks: Sequence[str]) -> None:
        """See :class:`Outlet`."""
        self._guard(lambda: self._outlet.begin_cook(steaks))

    def announce(self, burst: Burst) -> None:
        """See :class:`Outlet`."""
        self._guard(lambda: self._outlet.announce(burst))

    def silence(self, call_id: str) -> None:
        """See :class:`Outlet`."""
        self._guard(lambda: self._outlet.silence(call_id))

    def status(self) -> OutletStatus:
        """The outlet's own status; failing while it does not run."""
        try:
            status = self._outlet.status()
        except Exception:
            _log.warning("outlet %s has no status", self.name, exc_info=True)
            note = f"The {self.name} outlet cannot tell how it is: start Pullcall again."
            return OutletStatus(self.name, self.kind, OutletState.FAILING, note)
        if self._fault:
            return replace(status, state=OutletState.FAILING, note=self._fault)
        return status

    def _guard(self, act: Callable[[], None]) -> None:
        try:
            act()
        except Exception:
            _log.warning("outlet %s refused", self.name, exc_info=True)
