"""Two to six cooks side by side: a row for each figure, and what differed in words."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from pullcall.events import Note
from pullcall.hindsight.facts import CookFacts, SteakFacts
from pullcall.logbook.notes import number_or_text
from pullcall.report.degrees import Degrees, capital
from pullcall.report.measures import MEASURES, Measure
from pullcall.report.noted import Noted, noted
from pullcall.report.places import MOST_COOKS, counterpart, letter

Value = float | str | None
#: So many sentences, the weightiest first.
_MOST_WORDS = 8


@dataclass(frozen=True, slots=True)
class ComparedRow:
    """A figure of every cook, in their order, in ``unit``; None where it is not known."""

    label: str
    unit: str
    values: tuple[Value, ...]


@dataclass(frozen=True, slots=True)
class Comparison:
    """``cooks`` are the ids; ``words`` say what differed most, cooks called A, B, C in their
    order."""

    cooks: tuple[str, ...]
    rows: tuple[ComparedRow, ...]
    words: tuple[str, ...]


def compare(
    cooks: Sequence[CookFacts], notes: Mapping[str, Iterable[Note]], unit: str
) -> Comparison:
    """Two to six cooks side by side; ``notes`` by the cook's id.

    Steaks are held against each other by name, else by their place in the order. Raises
    ValueError for another number of cooks, or a unit that is neither F nor C.
    """
    if not 2 <= len(cooks) <= MOST_COOKS:
        raise ValueError(f"compare two to {MOST_COOKS} cooks")
    degrees = Degrees(unit)
    figures = [_Figures(measure, *where) for where in _places(cooks) for measure in _of(where[0])]
    wrote = [noted(notes.get(cook.cook, ())) for cook in cooks]
    rows = [*_written(wrote), *(figure.row(degrees) for figure in figures if figure.is_known())]
    return Comparison(tuple(cook.cook for cook in cooks), tuple(rows), _words(figures, degrees))


Steaks = tuple[SteakFacts | None, ...]


def _places(cooks: Sequence[CookFacts]) -> list[tuple[str | None, Sequence[CookFacts], Steaks]]:
    """The cook itself (None), then each place of a steak with the steaks that lie there."""
    whole = tuple(cook.steaks[0] if cook.steaks else None for cook in cooks)
    found: list[tuple[str | None, Sequence[CookFacts], Steaks]] = [(None, cooks, whole)]
    for place in range(max(len(cook.steaks) for cook in cooks)):
        first = next(cook for cook in cooks if place < len(cook.steaks))
        steaks = tuple(counterpart(first, place, cook) for cook in cooks)
        names = dict.fromkeys(s.steak for s in steaks if s is not None)
        found.append((" / ".join(names), cooks, steaks))
    return found


def _of(steak: str | None) -> tuple[Measure, ...]:
    return tuple(measure for measure in MEASURES if measure.is_of_cook is (steak is None))


@dataclass(frozen=True, slots=True)
class _Figures:
    """One measure of one place (None: of the cooks)."""

    measure: Measure
    steak: str | None
    cooks: Sequence[CookFacts]
    steaks: Steaks

    def values(self) -> tuple[float | None, ...]:
        pairs = zip(self.cooks, self.steaks, strict=True)
        return tuple(None if s is None else self.measure.of(cook, s) for cook, s in pairs)

    def is_known(self) -> bool:
        return any(value is not None for value in self.values())

    def row(self, degrees: Degrees) -> ComparedRow:
        measure = self.measure
        told = tuple(None if v is None else measure.number(v, degrees) for v in self.values())
        return ComparedRow(self._label(), measure.unit(degrees), told)

    def weight(self) -> float:
        """How far the cooks are apart, in units of what is worth telling."""
        known = [value for value in self.values() if value is not None]
        return (max(known) - min(known)) / self.measure.worth if len(known) > 1 else 0.0

    def words(self, degrees: Degrees) -> str:
        told = self.measure.told
        values = [
            f"{letter(n)} {_NOT_KNOWN if v is None else told(v, degrees)}"
            for n, v in enumerate(self.values())
        ]
        return f"{capital(self._label())}: {', '.join(values)}."

    def _label(self) -> str:
        of = self.measure.label
        return of if self.steak is None else f"{self.steak}: {of}"


_NOT_KNOWN = "not known"


def _words(figures: Sequence[_Figures], degrees: Degrees) -> tuple[str, ...]:
    """The rows that differ by what is worth telling, the weightiest first."""
    apart = [figure for figure in figures if figure.weight() >= 1.0]
    apart.sort(key=lambda figure: -figure.weight())
    return tuple(figure.words(degrees) for figure in apart[:_MOST_WORDS])


def _written(wrote: Sequence[Noted]) -> list[ComparedRow]:
    """Place, contest and the judges' scores, where anybody wrote one."""
    rows = [_row(name, [n.text(name) or None for n in wrote]) for name in ("place", "contest")]
    scores = [dict(n.scores()) for n in wrote]
    rows += [
        _row(f"score, {category}", [_score(of.get(category)) for of in scores])
        for category in dict.fromkeys(c for of in scores for c in of)
    ]
    return [row for row in rows if any(value is not None for value in row.values)]


def _row(label: str, values: Sequence[Value]) -> ComparedRow:
    return ComparedRow(label, "", tuple(values))


def _score(text: str | None) -> Value:
    """A number where the judges gave one."""
    return None if text is None else number_or_text(text)
