"""The phones whose pages sound calls by themselves, and their receipts."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass

from pullcall.clock import Clock
from pullcall.events import Call
from pullcall.outlets.deadlines import Deadlines
from pullcall.outlets.outlet import (
    Burst,
    OutletKind,
    OutletState,
    OutletStatus,
    Report,
    Reports,
)

#: A phone counts as here for this long after it was last heard of, seconds.
HERE_S = 12.0
#: A receipt is missing after this long, seconds.
RECEIPT_S = 3.0
#: Phones remembered; past it the stalest is forgotten.
_MOST_PHONES = 64
#: Announced calls whose receipts are still taken; past it the oldest is forgotten.
_MOST_CALLS = 256


@dataclass(frozen=True, slots=True)
class _Seen:
    at: float
    armed: bool


class Phones:
    """Registry of pages. The hub sends them the calls; this notes who could and did sound them.

    Every ``now`` is real monotonic seconds. A call is reported played at its first receipt, and
    failed when none came in time although a phone was armed when it was announced.
    """

    name = "phones"
    kind = OutletKind.PHONES

    def __init__(self, clock: Clock) -> None:
        self._clock = clock
        self._seen: OrderedDict[str, _Seen] = OrderedDict()
        self._open: OrderedDict[str, Call] = OrderedDict()
        self._due: Deadlines[Call] = Deadlines(clock, RECEIPT_S)
        self._report: Reports = _nobody
        self._is_missing_receipts = False
        self._last_played: float | None = None

    # What the page's stream tells

    def seen(self, phone: str, armed: bool, now: float) -> None:
        """A phone is here; ``armed`` says whether it can sound."""
        self._seen[phone] = _Seen(now, armed)
        self._seen.move_to_end(phone)
        while len(self._seen) > _MOST_PHONES:
            # One that sounds calls goes last: a crowd of watchers must not push it out.
            least = min(self._seen.items(), key=lambda one: (one[1].armed, one[1].at))
            del self._seen[least[0]]

    def gone(self, phone: str) -> None:
        """A phone's page said goodbye."""
        self._seen.pop(phone, None)

    def receipt(self, phone: str, call_id: str, now: float) -> None:
        """A phone sounded a call; the first receipt of an announced call counts."""
        known = self._seen.get(phone)
        if known is None or not known.armed:
            return  # whoever cannot sound did not
        self.seen(phone, True, now)
        call = self._open.pop(call_id, None)
        if call is not None:
            self._is_missing_receipts = False
            self._last_played = now
            self._report(Report(call, self.name, True, now))

    def armed_count(self, now: float) -> int:
        """How many phones are here and armed."""
        return sum(s.armed and now - s.at <= HERE_S for s in self._seen.values())

    def here_count(self, now: float) -> int:
        """How many phones are here, armed or not."""
        return sum(now - s.at <= HERE_S for s in self._seen.values())

    # What the desk asks of every outlet

    def begin_cook(self, steaks: Sequence[str]) -> None:
        """Pages know the steaks from their own stream."""

    def announce(self, burst: Burst) -> None:
        """Note when it was announced: the hub sends it to the pages."""
        for call in burst:
            self._open[call.id] = call
            self._open.move_to_end(call.id)
            if self.armed_count(self._clock.monotonic()):
                self._due.add(call)
        while len(self._open) > _MOST_CALLS:
            self._open.popitem(last=False)

    def silence(self, call_id: str) -> None:
        """The hub tells the pages; a receipt is no longer missed."""
        self._open.pop(call_id, None)

    def status(self) -> OutletStatus:
        """Off without an armed phone, failing when receipts are missing."""
        state, note = self._state()
        return OutletStatus(self.name, self.kind, state, note, self._last_played)

    async def run(self, report: Reports) -> None:
        """Report calls whose receipts are missing, until cancelled."""
        self._report = report
        while True:
            call = await self._due.next()
            if self._open.get(call.id) is call:
                self._is_missing_receipts = True
                now = self._clock.monotonic()
                note = f"no phone confirmed it within {RECEIPT_S:.0f} s"
                self._report(Report(call, self.name, False, now, note))

    def _state(self) -> tuple[OutletState, str]:
        now = self._clock.monotonic()
        if not self.armed_count(now):
            if self.here_count(now):
                return OutletState.OFF, "No phone can sound: tap to arm the sound on one."
            return OutletState.OFF, "No phone is here: open the page on one and arm its sound."
        if self._is_missing_receipts:
            note = "No phone confirmed the last call: wake one and check that its page is open."
            return OutletState.FAILING, note
        return OutletState.OK, ""


def _nobody(report: Report) -> None:
    """Before the outlet runs, reports reach nobody."""
