"""One cook as a row of the logbook."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from pullcall.events import Note, SteakSettings
from pullcall.hindsight.facts import CookFacts, SteakFacts
from pullcall.log.cook_entry import CookEntry
from pullcall.logbook.notes import SCORE, standing

Score = float | str


@dataclass(frozen=True, slots=True)
class SteakRow:
    """One steak. Millimetres, grams, Celsius, seconds; None: not seen, or not worked out yet."""

    steak: str
    thickness_mm: float
    weight_g: float | None
    start_c: float
    pull_c: float
    off_c: float | None
    peak_c: float | None
    on_grate_s: float | None
    notes: str
    photos: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Row:
    """A cook. Times are ISO 8601; texts that nobody wrote are empty.

    ``over``: a report and a replay can be had; of the cook that runs, once nothing is on the
    grate any more. ``handed_in`` is the steak that went into the box, by the cook's word or else
    the first marked.
    """

    cook: str
    started: str
    ended: str | None
    running: bool
    over: bool
    simulated: bool
    place: str
    contest: str
    tags: tuple[str, ...]
    photos: tuple[str, ...]
    notes: str
    handed_in: str | None
    hand_in_wall: str | None
    in_window: bool | None
    fire_c: float | None
    rest_on: str
    rest_board: str
    steaks: tuple[SteakRow, ...]
    scores: Mapping[str, Score] = field(default_factory=dict)


def row(
    entry: CookEntry,
    notes: Iterable[Note],
    facts: CookFacts | None,
    *,
    is_running: bool = False,
    is_over: bool = True,
) -> Row:
    """A logged cook as a row; without facts only what its header and its notes say."""
    told = _Told(notes)
    header = facts.setup if facts else entry.header
    handed_in = told.text("handed_in") or _first_handed_in(facts)
    at = _handed_in_t(facts, handed_in)
    return Row(
        cook=entry.id,
        started=header.started,
        ended=entry.ended,
        running=is_running,
        over=is_over,
        simulated=header.simulated,
        place=told.text("place"),
        contest=told.text("contest"),
        tags=told.texts("tags"),
        photos=told.texts("photos"),
        notes=told.text("notes"),
        handed_in=handed_in,
        hand_in_wall=_wall_of(facts, at),
        in_window=_in_window(facts, at),
        fire_c=facts.fire.at_on_c if facts else None,
        rest_on=header.rest_on,
        rest_board=told.text("rest_board"),
        steaks=tuple(
            _steak(steak, facts.steak(steak.steak) if facts else None, told)
            for steak in header.steaks
        ),
        scores=told.scores(),
    )


class _Told:
    """The notes that stand, by name; one of another kind than it should be is passed over."""

    def __init__(self, notes: Iterable[Note]) -> None:
        self._values = {(note.steak, note.name): note.value for note in standing(notes)}

    def text(self, name: str, steak: str | None = None) -> str:
        value = self._values.get((steak, name))
        return value if isinstance(value, str) else ""

    def texts(self, name: str, steak: str | None = None) -> tuple[str, ...]:
        value = self._values.get((steak, name))
        return value if isinstance(value, tuple) else ()

    def number(self, name: str, steak: str | None = None) -> float | None:
        value = self._values.get((steak, name))
        return value if isinstance(value, float) else None

    def scores(self) -> dict[str, Score]:
        """Score by category, in the order first written."""
        return {
            name.removeprefix(SCORE): value
            for (steak, name), value in self._values.items()
            if steak is None and name.startswith(SCORE) and isinstance(value, float | str)
        }


def _steak(settings: SteakSettings, facts: SteakFacts | None, told: _Told) -> SteakRow:
    seen = facts or SteakFacts(settings.steak, settings)
    settings = seen.settings
    is_cooked = seen.on_t is not None and seen.off_t is not None
    return SteakRow(
        steak=settings.steak,
        thickness_mm=settings.thickness_mm,
        weight_g=told.number("weight_g", settings.steak),
        start_c=settings.start_c if seen.start_c is None else seen.start_c,
        pull_c=settings.pull_c if seen.pull_c is None else seen.pull_c,
        off_c=seen.off_c,
        peak_c=seen.peak_c,
        on_grate_s=(seen.off_t or 0.0) - (seen.on_t or 0.0) if is_cooked else None,
        notes=told.text("notes", settings.steak),
        photos=told.texts("photos", settings.steak),
    )


def _first_handed_in(facts: CookFacts | None) -> str | None:
    """The steak that was marked handed in first."""
    steaks = facts.steaks if facts else ()
    times = {s.steak: s.handed_in_t for s in steaks if s.handed_in_t is not None}
    return min(times, key=lambda steak: times[steak], default=None)


def _handed_in_t(facts: CookFacts | None, steak: str | None) -> float | None:
    """When that steak was handed in, or else the first of any."""
    if facts is None:
        return None
    chosen = facts.steak(steak) if steak else None
    return facts.handed_in_t if chosen is None or chosen.handed_in_t is None else chosen.handed_in_t


def _wall_of(facts: CookFacts | None, t: float | None) -> str | None:
    if facts is None or t is None:
        return None
    try:
        zero = datetime.fromisoformat(facts.started)
        return (zero + timedelta(seconds=t)).isoformat(timespec="seconds")
    except (ValueError, OverflowError):
        return None


def _in_window(facts: CookFacts | None, t: float | None) -> bool | None:
    if facts is None or facts.window_t is None or t is None:
        return None
    opens, closes = facts.window_t
    return opens <= t <= closes
