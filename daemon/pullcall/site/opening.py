"""Taking up a cook: a new one, or the one that was running when the daemon stopped."""

from __future__ import annotations

import secrets
from datetime import datetime

from pullcall.clock import Clock
from pullcall.core.cook import Cook, Effect
from pullcall.core.steak import Phase
from pullcall.events import Call, CookHeader, Input, SteakSettings
from pullcall.log.store import CookEntry, Store
from pullcall.site.options import SiteOptions

#: A cook with meat on is taken up after a stop of at most this long, seconds.
_LONGEST_GAP_ON_S = 3600.0
#: ... and one with nothing on (a morning's preparation) after at most this long.
_LONGEST_GAP_S = 12 * 3600.0


class OpenCook:
    """A cook that runs: its core, its zero on the monotonic clock, and what led up to now."""

    def __init__(self, entry: CookEntry, zero: float) -> None:
        self.id = entry.id
        self.zero = zero
        self.core = Cook(entry.header)
        self.past: list[tuple[Input | None, list[Effect]]] = []

    def replay(self, inputs: tuple[Input, ...]) -> None:
        """Feed what was logged."""
        for event in inputs:
            self.past.append((event, self.core.apply(event)))

    def catch_up(self, now: float) -> None:
        """Run the seconds in which nobody watched."""
        self.past.append((None, self.core.advance(now)))

    def calls(self) -> list[Call]:
        """Every announcement so far."""
        return [e for _, effects in self.past for e in effects if isinstance(e, Call)]


def open_cook(store: Store, clock: Clock, options: SiteOptions) -> OpenCook:
    """The cook to go on with; calls that fell into the stop are logged, late."""
    unfinished = [entry for entry in store.cooks() if entry.ended is None]
    for entry in reversed(unfinished):
        resumed = _resume(entry, store, clock, options)
        if resumed is not None:
            return resumed
        store.end(entry.id, clock.wall().isoformat(timespec="seconds"))
    return new_cook(store, clock, options, options.steaks)


def new_cook(
    store: Store, clock: Clock, options: SiteOptions, steaks: tuple[SteakSettings, ...]
) -> OpenCook:
    """A cook that begins now."""
    wall = clock.wall()
    header = CookHeader(
        cook=f"{wall:%Y%m%d-%H%M%S}-{secrets.token_hex(2)}",
        started=wall.isoformat(timespec="milliseconds"),
        steaks=steaks,
        rest_on=options.rest_on,
        simulated=options.simulated,
    )
    entry = CookEntry(header, options.boot, clock.monotonic(), None)
    store.begin(header, entry.boot, entry.zero_monotonic)
    return OpenCook(entry, entry.zero_monotonic)


def _resume(entry: CookEntry, store: Store, clock: Clock, options: SiteOptions) -> OpenCook | None:
    opened = OpenCook(entry, _zero_of(entry, clock, options))
    inputs = store.cook(entry.id).inputs
    now = clock.monotonic() - opened.zero
    gap = now - (inputs[-1].t if inputs else 0.0)
    if gap > _LONGEST_GAP_S:
        return None
    opened.replay(inputs)
    is_on = any(s.phase is Phase.ON for s in opened.core.steaks.values())
    if is_on and gap > _LONGEST_GAP_ON_S:
        return None
    opened.catch_up(now)
    logged = len(store.call_lines(entry.id))
    store.append_calls(entry.id, opened.calls()[logged:])
    return opened


def _zero_of(entry: CookEntry, clock: Clock, options: SiteOptions) -> float:
    """The cook's zero on today's monotonic clock; by wall time where the machine was restarted."""
    if entry.boot == options.boot:
        return entry.zero_monotonic
    gone = clock.wall() - datetime.fromisoformat(entry.header.started)
    return clock.monotonic() - max(0.0, gone.total_seconds())
