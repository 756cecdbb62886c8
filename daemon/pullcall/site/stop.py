"""A stop in the middle of a cook: what is logged of it."""

from __future__ import annotations

import json
from collections.abc import Sequence

from pullcall.clock import Clock
from pullcall.events import Call, Input, Reached, Restart
from pullcall.log.call_records import call_record
from pullcall.log.entries import Entry, Moved
from pullcall.log.records import to_line
from pullcall.site.open_cook import OpenCook
from pullcall.site.options import SiteOptions


def of_the_stop(
    opened: OpenCook, logged: Sequence[str], clock: Clock, options: SiteOptions
) -> list[Entry]:
    """What is logged of a cook that is taken up: calls that fell into the stop, and that it was
    started again: what nobody answered sounds again at the next second. ``logged`` are the lines of
    the calls that the log has. Raises CoreFailedError."""
    now = clock.monotonic() - opened.zero
    opened.catch_up(now)  # taking it up took time: no second of that may be passed over
    late: list[Input | Call] = list(_later(opened.calls(), logged))
    if late:
        late.insert(0, reached := Reached(opened.core.stamp(now)))
        opened.replay((reached,))
    restart = Restart(opened.core.stamp(now))
    opened.replay((restart,))
    moved = Entry(opened.id, Moved(options.boot, opened.zero))
    return [*(Entry(opened.id, event) for event in (*late, restart)), moved]


def _later(calls: Sequence[Call], logged: Sequence[str]) -> list[Call]:
    """Those that come after the last one logged. Their number would not tell: what is left out of
    a cook by now may have led to other calls."""
    if not logged:
        return list(calls)
    last_t, lines = float(json.loads(logged[-1])["t"]), set(logged)
    return [
        call
        for call in calls
        if call.t > last_t or (call.t == last_t and to_line(call_record(call)) not in lines)
    ]
