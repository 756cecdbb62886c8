"""What learning brings: the fifth cook of a series with what the first four taught, and without.

Each cook of a series begins with what those before it taught, as in life. The figures of the
split between grills (``pullcall.learning.grill``) were tuned on series 100 to 123; the series
here, 0 up to the environment's SERIES (16), took no part in that. Strangers are twelve cooks that
share nothing, by an independent model: each after four others, to see what learning from the
wrong cooks costs.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from math import comb, nan

import numpy as np

from pullcall.events import Forecast, Mark, MarkKind, Quantiles, Reading
from pullcall.forecast.engine import ForecastEngine
from pullcall.hindsight.facts import CookFacts, FireFacts, LeadScore, SteakFacts
from pullcall.learning.choice import Choice, Mode
from pullcall.learning.learn import NAMES, learn, taught
from pullcall.simulators.kitchen import Outcome
from tests.bench.series import COOKS, SimulatedCook, series
from tests.forecast.cooks.simulated import KnownCook, copied_cooks

#: Seconds before the crossing, and after on, at which the pull's forecast is looked at.
LEADS_S = (120.0, 60.0, 40.0, 20.0)
AFTER_ON_S = 120.0
_BOOTSTRAPS = 2_000
STRANGERS = 12
#: What is measured of each steak, and in which unit.
WHATS = ("on + 120 s", "120 s", "60 s", "40 s", "20 s", "carry-over", "peak 60 s on")
_EARLY = "on + 120 s"


@dataclass(frozen=True, slots=True)
class Score:
    """How far a forecast was off (s, or C), and whether the truth lay in its band."""

    error: float
    is_covered: bool


Scores = dict[str, list[Score]]


@dataclass(frozen=True, slots=True)
class Told:
    """A series: its first cook, its fifth without any lesson, and with those of each kind."""

    first: Scores
    plain: Scores
    by: Mapping[str, Scores]


def told(number: int) -> Told:
    """Cook a series through, each cook with what those before it taught."""
    cooks, facts = series(number), list[CookFacts]()
    first, scores = Scores(), Scores()
    for cook in cooks[:-1]:
        known, scores = cooked(cook, facts, ())
        facts.append(known)
        first = first or scores
    last = cooks[-1]
    by = {"all": cooked(last, facts, ())[1]}
    by |= {name: cooked(last, facts, _only(name))[1] for name in ("grill", "carry_over", "band")}
    return Told(first, cooked(last, (), ())[1], by)


def stranger(number: int) -> Told:
    """One of the cooks that share nothing, after four others."""
    cooks = [_with_outcomes(cook) for cook in copied_cooks()]
    others = [cooks[(number + k) % len(cooks)] for k in range(1, COOKS)]
    facts = [cooked(other, (), ())[0] for other in others]
    plain = cooked(cooks[number], (), ())[1]
    return Told(plain, plain, {"all": cooked(cooks[number], facts, ())[1]})


def _with_outcomes(cook: KnownCook) -> SimulatedCook:
    truths = {t.steak: Outcome(t.steak, t.cross_s, t.pull_s, t.peak_c, nan) for t in cook.truths}
    return SimulatedCook(cook.header, cook.events, truths)


def _only(name: str) -> tuple[Choice, ...]:
    """Every other lesson put back to its default."""
    return tuple(Choice("", other, Mode.DEFAULT) for other in NAMES if other != name)


def cooked(
    cook: SimulatedCook, before: Sequence[CookFacts], choices: Sequence[Choice]
) -> tuple[CookFacts, Scores]:
    """A cook that begins with what those ``before`` it taught: its facts, and its scores."""
    header = taught(cook.header, learn(before, cook.header, choices)) if before else cook.header
    engine, asks, answers = ForecastEngine(header), _asks(cook), dict[tuple[str, str], Forecast]()
    believed = {}
    for event in cook.events:
        while asks and asks[0][0] < event.t:
            t, steak, what = asks.pop(0)
            answers[steak, what] = engine.forecast(steak, t)
        if isinstance(event, Mark) and event.mark is MarkKind.OFF:
            for steak in header.names() if event.steak is None else (event.steak,):
                believed[steak] = engine.believed(steak)
        if isinstance(event, Reading | Mark):
            engine.update(event)
    found = [_steak(cook, name, answers) for name in header.names()]
    steaks = tuple(replace(steak, believed=believed[steak.steak]) for steak, _ in found)
    scores: Scores = {what: [s[what] for _, s in found if what in s] for what in WHATS}
    return CookFacts(header.cook, header, cook.events[-1].t, steaks, FireFacts()), scores


def _asks(cook: SimulatedCook) -> list[tuple[float, str, str]]:
    """When which steak's forecast is looked at, in time order."""
    asks = []
    for name, truth in cook.truths.items():
        assert truth.cross_s is not None and truth.pull_s is not None
        asks.append((_on_t(cook, name) + AFTER_ON_S, name, _EARLY))
        asks += [(truth.cross_s - lead, name, f"{lead:.0f} s") for lead in LEADS_S]
        asks += [(truth.pull_s + 0.5, name, "carry-over")]
        asks += [(truth.pull_s + 60.0, name, "peak 60 s on")]
    return sorted(asks)


def _on_t(cook: SimulatedCook, name: str) -> float:
    marks = (e for e in cook.events if isinstance(e, Mark) and e.mark is MarkKind.ON)
    return next(mark.happened for mark in marks if mark.steak in (None, name))


def _steak(
    cook: SimulatedCook, name: str, answers: Mapping[tuple[str, str], Forecast]
) -> tuple[SteakFacts, dict[str, Score]]:
    truth = cook.truths[name]
    assert truth.cross_s is not None
    scores, leads = dict[str, Score](), list[LeadScore]()
    for what in WHATS:
        forecast = answers.get((name, what))
        if forecast is None:
            continue
        if what in ("carry-over", "peak 60 s on"):
            assert forecast.peak_c is not None
            scores[what] = _score(forecast.peak_c, truth.peak_c)
        elif forecast.pull_in_s is not None:
            true_s = truth.cross_s - forecast.t
            scores[what] = _score(forecast.pull_in_s, true_s)
            if what != _EARLY:
                lead_s = float(what.removesuffix(" s"))
                leads.append(LeadScore(lead_s, forecast.t, forecast.pull_in_s, true_s, 0.0, 0.0))
    at_off = answers[name, "carry-over"]
    assert at_off.peak_c is not None and at_off.core_c is not None
    climb = Quantiles(*(q - at_off.core_c for q in _three(at_off.peak_c)))
    settings = next(s for s in cook.header.steaks if s.steak == name)
    return (
        SteakFacts(
            name,
            settings,
            off_t=truth.pull_s,
            off_c=at_off.core_c,
            peak_c=truth.peak_c,
            climb_told_c=climb,
            climb_taught_c=cook.header.lessons.climb_c,
            leads=tuple(leads),
        ),
        scores,
    )


def _three(quantiles: Quantiles) -> tuple[float, float, float]:
    return quantiles.p10, quantiles.p50, quantiles.p90


def _score(said: Quantiles, truth: float) -> Score:
    return Score(said.p50 - truth, said.p10 <= truth <= said.p90)


async def measure() -> str:
    """The figures over every series."""
    count = int(os.environ.get("SERIES", "16"))
    with ProcessPoolExecutor() as pool:
        found = list(pool.map(told, range(count)))
        strangers = list(pool.map(stranger, range(STRANGERS)))
    lines = [f"{count} series of five cooks of two steaks", *report(found)]
    lines += ["a stranger's cook, general prior -> taught by four others:"]
    lines += _lines([one.plain for one in strangers], [one.by["all"] for one in strangers])
    return "\n  ".join(lines)


def report(found: Sequence[Told]) -> Iterator[str]:
    """A line per figure."""
    yield "the fifth cook, general prior -> taught by the first four (median / p90, covered):"
    yield from _lines([one.plain for one in found], [one.by["all"] for one in found])
    yield "from the first cook to the fifth, as in life:"
    yield from _lines([one.first for one in found], [one.by["all"] for one in found])
    for name in ("grill", "carry_over", "band"):
        yield f"the fifth cook with {name} alone:"
        yield from _lines([one.plain for one in found], [one.by[name] for one in found])


def _lines(before: Sequence[Scores], after: Sequence[Scores]) -> Iterator[str]:
    for what in WHATS:
        old, new = (_of(what, many) for many in (before, after))
        yield f"  {what:12} {_summary(old)} -> {_summary(new)}; {_paired(old, new)}"


def _of(what: str, many: Sequence[Scores]) -> list[list[Score]]:
    return [scores[what] for scores in many]


def _summary(by_series: Iterable[Sequence[Score]]) -> str:
    scores = [score for of_one in by_series for score in of_one]
    errors = np.abs([score.error for score in scores])
    covered = np.mean([score.is_covered for score in scores])
    return f"{np.median(errors):.2f} / {np.percentile(errors, 90):.2f}, {100 * covered:.0f} %"


def _paired(old: Sequence[Sequence[Score]], new: Sequence[Sequence[Score]]) -> str:
    """The change of the mean error by series, with its bootstrap 90 % interval and sign test."""
    changes = np.array([_mean(b) - _mean(a) for a, b in zip(old, new, strict=True)])
    rng = np.random.default_rng(5)
    means = rng.choice(changes, (_BOOTSTRAPS, len(changes))).mean(axis=1)
    low, high = np.percentile(means, [5, 95])
    better = int((changes < 0).sum())
    return (
        f"mean |error| {changes.mean():+.2f} ({low:+.2f} to {high:+.2f}), better in {better} of "
        f"{len(changes)} series (chance {_by_chance(better, len(changes)):.3f})"
    )


def _mean(scores: Sequence[Score]) -> float:
    return float(np.mean([abs(score.error) for score in scores]))


def _by_chance(better: int, of: int) -> float:
    """How likely so many or more come out better if nothing changed."""
    return sum(comb(of, k) for k in range(better, of + 1)) / 2.0**of
