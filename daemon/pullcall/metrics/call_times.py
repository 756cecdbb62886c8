"""How many calls there were, and how long each took to be announced and to be heard."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Iterable

from pullcall.events import Call, CallKind
from pullcall.metrics.histogram import Histogram
from pullcall.outlets.outlet import OutletKind, Report

#: A call waits for the end of a second of the cook, for the log (a quarter of a second at most),
#: and for a loudspeaker's tone of about a second; after three it is announced again.
_BOUNDS_S = (0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1.0, 2.0, 3.0, 5.0, 10.0, 30.0)
#: Outlets that people hear, by their names.
HEARD_BY = (OutletKind.PHONES, OutletKind.LOUDSPEAKER)
#: Announcements whose receipts are waited for; past it the oldest is forgotten.
_MOST = 256

_Key = tuple[OutletKind, str, float]


class CallTimes:
    """Every moment is real monotonic seconds. Repeats of an alarm are announcements too."""

    def __init__(self) -> None:
        self.announced = Histogram(_BOUNDS_S)
        self.heard = {kind: Histogram(_BOUNDS_S) for kind in HEARD_BY}
        self.counts = dict.fromkeys(CallKind, 0)
        self.unheard = 0
        self._waiting: OrderedDict[_Key, float] = OrderedDict()

    def announces(self, call: Call, due: float, now: float) -> None:
        """A call that was due at ``due`` is handed to the outlets."""
        self.counts[call.call] += 1
        self.announced.observe(now - due)
        for kind in HEARD_BY:
            self._waiting[(kind, call.id, call.t)] = due
        while len(self._waiting) > _MOST:
            self._waiting.popitem(last=False)

    def reported(self, report: Report) -> None:
        """What became of a call on one outlet; the first that sounded it counts."""
        kind = next((kind for kind in HEARD_BY if kind == report.outlet), None)
        if kind is None or not report.played:
            return
        due = self._waiting.pop((kind, report.call.id, report.call.t), None)
        if due is not None:
            self.heard[kind].observe(report.at - due)

    def went_unheard(self, calls: Iterable[Call]) -> None:
        """Nobody was heard to sound these in time: they are announced again."""
        self.unheard += len(tuple(calls))

    def begin_cook(self) -> None:
        """Calls are numbered anew in each cook."""
        self._waiting.clear()
