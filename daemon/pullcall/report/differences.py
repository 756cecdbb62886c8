"""What went differently from the last cook, and from the usual one, the weightiest first."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from statistics import median

from pullcall.hindsight.facts import CookFacts
from pullcall.report.degrees import Degrees, capital
from pullcall.report.measures import MEASURES, Measure, first_on_t, late_s, less
from pullcall.report.places import counterpart
from pullcall.report.sensitivity import PEAK_PER_PULL, later_s, rounded_s

#: What is usual can be said from so many earlier cooks on.
USUAL_COOKS = 3
#: So little at off is not told, kelvin.
_NOTHING_C = 0.1
#: Measures that say nothing of their own where the other one moved by as much.
_AS: dict[str, str] = {"against_target": "peak", "against_pull": "off", "on_to_off": "flip_to_off"}


@dataclass(frozen=True, slots=True)
class Difference:
    """One measure of one steak (None: of the cook) that was worth telling.

    Figures are Celsius, kelvin, seconds, millimetres or counts. ``usual`` is the median of the
    ``cooks`` earlier ones that have it, None of fewer than :data:`USUAL_COOKS`. ``weight`` is the
    larger difference in units of what is worth telling, so at least 1. ``later_s`` is how much
    later the pull comes for it than last time, where that is known; ``at_off_c`` how much higher
    the core was at off for it.
    """

    steak: str | None
    measure: Measure
    this: float
    last: float | None
    usual: float | None
    cooks: int
    weight: float
    later_s: float | None = None
    at_off_c: float | None = None

    def words(self, unit: str) -> str:
        """The sentence, with the figures and the likely consequence."""
        degrees, of = Degrees(unit), self.measure
        whose = of.label if self.steak is None else f"{self.steak}: {of.label}"
        told = [*self._against(degrees, True), *self._against(degrees, False)]
        sentence = f"{capital(whose)} {of.told(self.this, degrees)}, {' and '.join(told)}"
        return f"{sentence}{self._consequence(degrees)}."

    def _against(self, degrees: Degrees, worth: bool) -> Iterator[str]:
        """Last time and the usual: those that differ by what is worth telling, or the others."""
        for other, when, of in self._bases(degrees):
            if other is None or self._is_worth(other) is not worth:
                continue
            how = f"{self._apart(other, degrees)} than" if worth else "as"
            yield f"{how} {when} ({self.measure.told(other, degrees)}{of})"

    def _bases(self, degrees: Degrees) -> tuple[tuple[float | None, str, str], ...]:
        """What it is held against, and how that is called; once where both read the same."""
        last, usual, told = self.last, self.usual, self.measure.told
        if last is not None and usual is not None and told(last, degrees) == told(usual, degrees):
            return ((last, "last time and usual", ""),)
        return ((last, "last time", ""), (usual, "usual", f" in {self.cooks} cooks"))

    def _is_worth(self, other: float) -> bool:
        return abs(self.this - other) >= self.measure.worth

    def _apart(self, other: float, degrees: Degrees) -> str:
        difference = self.this - other
        word = self.measure.more if difference > 0.0 else self.measure.less
        return f"{self.measure.apart(difference, degrees)} {word}"

    def _consequence(self, degrees: Degrees) -> str:
        """What follows, as simulated cooks or this cook's own rise have it."""
        if self.later_s is not None and rounded_s(self.later_s) > 0.0:
            when = "later" if self.later_s > 0.0 else "sooner"
            return f": by simulated cooks about {rounded_s(self.later_s):.0f} s {when} at the pull"
        if self.last is None or not self._is_worth(self.last):
            return ""
        if self.measure.name == "off":
            peak = PEAK_PER_PULL * (self.this - self.last)
            return f": by simulated cooks about {degrees.signed(peak)} at the peak"
        if self.at_off_c is not None and abs(self.at_off_c) >= _NOTHING_C:
            return f": {degrees.signed(self.at_off_c)} at off, as fast as it rose"
        return ""


def differences(facts: CookFacts, earlier: Sequence[CookFacts]) -> tuple[Difference, ...]:
    """Every difference worth telling, the weightiest first; ``earlier`` are the cooks before,
    the latest last; one at which nothing went on is no cook."""
    cooked = [cook for cook in earlier if first_on_t(cook) is not None]
    found = [d for measure in MEASURES for d in _of_measure(measure, facts, cooked)]
    apart = {(d.measure.name, d.steak): d for d in found}
    told = [
        d for d in found if not _says_the_same(d, apart.get((_AS.get(d.measure.name, ""), d.steak)))
    ]
    return tuple(sorted(told, key=lambda d: -d.weight))


def _says_the_same(one: Difference, other: Difference | None) -> bool:
    """Whether the other measure moved by as much, so that one of them is enough."""
    if other is None or one.last is None or other.last is None:
        return False
    moved, as_much = one.this - one.last, other.this - other.last
    return abs(moved - as_much) < 0.2 * one.measure.worth


def _of_measure(
    measure: Measure, facts: CookFacts, earlier: Sequence[CookFacts]
) -> Iterator[Difference]:
    for place, steak in enumerate(facts.steaks[:1] if measure.is_of_cook else facts.steaks):
        this = measure.of(facts, steak)
        if this is not None:
            told = _difference(measure, this, place, facts, earlier)
            if told is not None:
                yield told


def _difference(
    measure: Measure, this: float, place: int, facts: CookFacts, earlier: Sequence[CookFacts]
) -> Difference | None:
    before = [_value(measure, facts, place, cook) for cook in earlier]
    known = [value for value in before if value is not None]
    last = before[-1] if before else None
    usual = median(known) if len(known) >= USUAL_COOKS else None
    apart = [abs(this - other) for other in (last, usual) if other is not None]
    weight = max(apart, default=0.0) / measure.worth
    if weight < 1.0:
        return None
    return Difference(
        None if measure.is_of_cook else facts.steaks[place].steak,
        measure,
        this,
        last,
        usual,
        len(known),
        weight,
        _later_s(measure, this, last, facts, place, earlier),
        _at_off_c(measure, facts, place, earlier),
    )


def _value(measure: Measure, facts: CookFacts, place: int, cook: CookFacts) -> float | None:
    if measure.is_of_cook:
        return measure.of(cook, cook.steaks[0]) if cook.steaks else None
    steak = counterpart(facts, place, cook)
    return None if steak is None else measure.of(cook, steak)


def _later_s(
    measure: Measure,
    this: float,
    last: float | None,
    facts: CookFacts,
    place: int,
    earlier: Sequence[CookFacts],
) -> float | None:
    """Against last time only, and only where that difference itself is worth telling."""
    if last is None or abs(this - last) < measure.worth:
        return None
    steak = counterpart(facts, place, earlier[-1])
    return None if steak is None else later_s(steak, measure.name, last, this)


def _at_off_c(
    measure: Measure, facts: CookFacts, place: int, earlier: Sequence[CookFacts]
) -> float | None:
    """Counted from the crossing: a slow hand that was called earlier for it costs nothing."""
    before = counterpart(facts, place, earlier[-1]) if earlier else None
    if measure.name != "reaction" or before is None:
        return None
    rise, steak = facts.steaks[place].rise_at_off_c_per_min, facts.steaks[place]
    apart_s = less(late_s(steak), late_s(before))
    return None if rise is None or apart_s is None else rise / 60.0 * apart_s
