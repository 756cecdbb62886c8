"""How good the forecast has been, over many cooks."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from statistics import fmean, median

from pullcall.degrees import F_PER_C
from pullcall.hindsight.facts import CookFacts, LeadScore, PeakScore, SteakFacts

#: The lead that matters most: the first call of a pull, s.
LEAD_S = 40.0


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure over the last ``count`` pulls. ``unit`` is "s", "C" (a difference of
    temperatures) or "" (a share, 0 to 1); ``said`` are its words with a place for the figure."""

    label: str
    value: float
    unit: str
    count: int
    said: str

    def words(self, unit: str = "C") -> str:
        """As a sentence for a reader of ``unit``, "C" or "F"."""
        if self.unit == "C":
            value = self.value if unit == "C" else self.value * F_PER_C
            return self.said.format(f"{value:.1f} {unit}")
        return self.said.format(f"{self.value:.1f} {self.unit}".strip())


@dataclass(frozen=True, slots=True)
class Told:
    """A figure for a reader: what it is about, and the sentence."""

    label: str
    words: str


def told(cooks: Sequence[CookFacts], unit: str) -> tuple[Told, ...]:
    """The figures of :func:`tally` for a reader of ``unit``, "C" or "F"."""
    return tuple(Told(figure.label, figure.words(unit)) for figure in tally(cooks))


def tally(cooks: Sequence[CookFacts], last: int = 8) -> tuple[Figure, ...]:
    """The figures over the ``last`` pulls of ``cooks`` (the latest last); those that no pull
    has are left out."""
    pulls = _pulls(cooks)
    leads = [lead for steak in pulls for lead in steak.leads if lead.lead_s == LEAD_S][-last:]
    peaks = [peak for steak in pulls for peak in steak.peaks if peak.after_off_s == 0.0][-last:]
    reactions = [s.reaction_s for s in pulls if s.reaction_s is not None][-last:]
    return (*_of_leads(leads), *_of_peaks(peaks), *_of_reactions(reactions))


def _pulls(cooks: Iterable[CookFacts]) -> list[SteakFacts]:
    """The steaks in the order they came off."""
    return [
        steak
        for cook in cooks
        for steak in sorted(cook.steaks, key=lambda steak: steak.off_t or 0.0)
        if steak.off_t is not None
    ]


#: The quantile CRPS in plain words.
_SCORE = "of misses and of the band’s width together: less is better (mean CRPS)"


def _of_leads(leads: Sequence[LeadScore]) -> Iterable[Figure]:
    if not leads:
        return
    over, count, at = _over(len(leads)), len(leads), f"at {LEAD_S:.0f} s"
    error_s = median(abs(lead.error_s) for lead in leads)
    yield Figure(f"Forecast error {at}", error_s, "s", count, f"{{}} {over} (median)")
    yield _held(f"Band {at}", [lead.is_covered for lead in leads])
    crps_s = fmean(lead.crps_s for lead in leads)
    yield Figure(f"Forecast score {at}", crps_s, "s", count, f"{{}} {over}, {_SCORE}")


def _of_peaks(peaks: Sequence[PeakScore]) -> Iterable[Figure]:
    if not peaks:
        return
    error_c = median(abs(peak.error_c) for peak in peaks)
    words = f"{{}} {_over(len(peaks))} (median)"
    yield Figure("Carry-over error", error_c, "C", len(peaks), words)
    yield _held("Band of the carry-over", [peak.is_covered for peak in peaks])


def _of_reactions(reactions: Sequence[float]) -> Iterable[Figure]:
    if reactions:
        words = f'{{}} from "pull now" to off {_over(len(reactions))} (median)'
        yield Figure("Reaction", median(reactions), "s", len(reactions), words)


def _held(label: str, held: Sequence[bool]) -> Figure:
    words = f"held the truth in {sum(held)} of {len(held)}, meant is 8 in 10"
    return Figure(label, sum(held) / len(held), "", len(held), words)


def _over(count: int) -> str:
    return "in your last pull" if count == 1 else f"over your last {count} pulls"
