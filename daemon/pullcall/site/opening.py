"""Taking up a cook: a new one, or the one that was running when the daemon stopped."""

from __future__ import annotations

import secrets
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from types import MappingProxyType

from pullcall.clock import Clock
from pullcall.core.cook import Cook, Effect
from pullcall.core.phase import Phase
from pullcall.events import (
    Acknowledgement,
    Call,
    CookHeader,
    Input,
    Lessons,
    Mark,
    Reached,
    Restart,
    Setting,
    Spot,
    SteakSettings,
    Window,
)
from pullcall.log.entries import Entry, Moved
from pullcall.log.store import CookEntry, Store
from pullcall.plan.wall import parse_window
from pullcall.site.options import SiteOptions

#: Makes of the settings that a new cook starts from those that earlier cooks taught.
Teach = Callable[[CookHeader], CookHeader]
#: A cook that has begun is taken up after a stop of at most this long, seconds.
_LONGEST_GAP_COOKING_S = 1800.0
#: ... and one with nothing on yet (a morning's preparation) after at most this long.
LONGEST_GAP_S = 12 * 3600.0


class OpenCook:
    """A cook that runs: its core, its zero on the monotonic clock, and what led up to now."""

    def __init__(self, entry: CookEntry, zero: float) -> None:
        self.id = entry.id
        self.zero = zero
        self.core = Cook(entry.header)
        self.past: list[tuple[Input | None, list[Effect]]] = []
        self.is_resumed = False

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


def open_cook(store: Store, clock: Clock, options: SiteOptions, teach: Teach) -> OpenCook:
    """The cook to go on with; calls that fell into the stop are logged, late. A new one is taught
    by earlier cooks."""
    unfinished = [entry for entry in store.cooks() if entry.ended is None]
    for entry in reversed(unfinished):
        resumed = _resume(entry, store, clock, options, teach)
        if resumed is not None:
            return resumed
        store.end(entry.id, clock.wall().isoformat(timespec="seconds"))
    entry = new_entry(clock.monotonic(), clock.wall(), options, teach(options.usual))
    store.begin(entry.header, entry.boot, entry.zero_monotonic)
    return OpenCook(entry, entry.zero_monotonic)


def new_entry(
    monotonic: float, wall: datetime, options: SiteOptions, like: CookHeader
) -> CookEntry:
    """A cook that begins now, with settings like those of another."""
    header = replace(
        like,
        cook=f"{wall:%Y%m%d-%H%M%S}-{secrets.token_hex(2)}",
        started=wall.isoformat(timespec="milliseconds"),
        window=_window(options, like, wall),
    )
    return CookEntry(header, options.boot, monotonic, None)


def like_before(before: Cook, usual: CookHeader, steaks: tuple[SteakSettings, ...]) -> CookHeader:
    """What a cook starts from that begins after another, but for lessons: its settings as they
    stood, with the durations that were not taught but set by hand."""
    begun, stood = before.header, before.setup
    taught = {n for n in begun.lessons.durations if stood.durations.get(n) == begun.durations[n]}
    by_hand = {name: range_ for name, range_ in stood.durations.items() if name not in taught}
    return replace(
        stood,
        steaks=steaks,
        durations=MappingProxyType({**usual.durations, **by_hand}),
        lessons=Lessons(),
    )


def _window(options: SiteOptions, like: CookHeader, wall: datetime) -> Window | None:
    """A window that is still open, or the next one that the configuration names."""
    if like.window is not None and datetime.fromisoformat(like.window.closes) > wall:
        return like.window
    return parse_window(options.window, wall.astimezone()) if options.window else None


def _resume(
    entry: CookEntry, store: Store, clock: Clock, options: SiteOptions, teach: Teach
) -> OpenCook | None:
    cook = store.cook(entry.id)
    inputs, last = cook.inputs, cook.ends_t
    opened = OpenCook(entry, _zero_of(entry, last, clock, options))
    now = clock.monotonic() - opened.zero
    if now - last > LONGEST_GAP_S:
        return None
    if not _is_touched(inputs) and not _is_usual(entry.header, clock.wall(), options, teach):
        return None
    opened.replay(inputs)
    has_begun = any(s.phase is not Phase.WAITING for s in opened.core.steaks.values())
    if has_begun and now - last > _LONGEST_GAP_COOKING_S:
        return None
    opened.catch_up(now)
    _log_late_calls(store, opened, now)
    _log_restart(store, opened, now)
    opened.is_resumed = True
    store.write([Entry(entry.id, Moved(options.boot, opened.zero))])
    return opened


def _is_touched(inputs: tuple[Input, ...]) -> bool:
    """Whether a person has done anything to a cook; readings and faults come by themselves."""
    return any(isinstance(event, Mark | Spot | Setting | Acknowledgement) for event in inputs)


def _is_usual(header: CookHeader, wall: datetime, options: SiteOptions, teach: Teach) -> bool:
    """Whether a cook that began now would start from the same settings."""
    fresh = replace(
        teach(options.usual),
        cook=header.cook,
        started=header.started,
        window=_window(options, options.usual, wall),
    )
    return fresh == header


def _log_late_calls(store: Store, opened: OpenCook, now: float) -> None:
    late = opened.calls()[len(store.call_lines(opened.id)) :]
    if late:
        reached = Reached(opened.core.stamp(now))
        opened.replay((reached,))
        store.write([Entry(opened.id, reached), *(Entry(opened.id, call) for call in late)])


def _log_restart(store: Store, opened: OpenCook, now: float) -> None:
    """What nobody answered sounds again at the next second."""
    restart = Restart(opened.core.stamp(now))
    opened.replay((restart,))
    store.write([Entry(opened.id, restart)])


def _zero_of(entry: CookEntry, last: float, clock: Clock, options: SiteOptions) -> float:
    """The cook's zero on today's monotonic clock; by wall time where the machine was restarted.

    A wall clock that went back (a board without a battery) never puts now before ``last``, the
    time of the last input.
    """
    if entry.boot == options.boot:
        return entry.zero_monotonic
    gone = clock.wall() - datetime.fromisoformat(entry.header.started)
    return clock.monotonic() - max(gone.total_seconds(), last)
