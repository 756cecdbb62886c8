"""What is called over cooks with known truth: how often, how early, and how often for nothing.

The folder is the environment's COOKS (``cook_*.jsonl`` with ``truth/`` beside them), or else the
cooks of the forecast's tests. Each cook is replayed with its own marks.
"""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Iterable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from itertools import chain
from pathlib import Path

import numpy as np

from pullcall.calls.rules import CALL_PRIORITY, SHAKY_BAND_S
from pullcall.events import Call, CallKind, Forecast
from pullcall.log.replay import replay
from tests.bench.cook_truth import SteakTruth, cook_paths, read_cook

FOLDER = Path(__file__).parents[1] / "forecast" / "cooks"
#: "Pull now" this much before the crossing is false; not called this long after it, missed, s.
EARLY_S, LATE_S = 10.0, 5.0
#: A slip or a gap is what an alarm means when it lies at most this long before it, seconds.
BEFORE_S = 20.0
_NOW = (CallKind.PULL_NOW, CallKind.OVER)
#: Prompts that repeat until done, but that no fault caused.
PROMPTS = frozenset(
    {CallKind.PULL_NOW, CallKind.SPOT_DUE, CallKind.REST_DONE, CallKind.PLAN_STEP, CallKind.WINDOW}
)


@dataclass(frozen=True, slots=True)
class Watched:
    """One cook's announcements, each instance by its first, and the forecasts behind them."""

    cook: str
    truths: tuple[SteakTruth, ...]
    calls: tuple[Call, ...]
    forecasts: dict[tuple[str, float], Forecast]

    @property
    def is_clean(self) -> bool:
        """Whether every probe spoke all the time and made sense."""
        return all(truth.is_clean for truth in self.truths)

    def raised(self, *kinds: CallKind, steak: str | None = None) -> list[Call]:
        """The first announcement of each instance of these kinds."""
        first: dict[str, Call] = {}
        for call in self.calls:
            if call.call in kinds and steak in (None, *call.steaks):
                first.setdefault(call.id, call)
        return list(first.values())

    def alarms(self) -> list[Call]:
        """The alarms and notices: neither planned nor prompts of what is to be done."""
        return self.raised(*(k for k in CallKind if k not in PROMPTS and k not in CALL_PRIORITY))


def watch(path: Path) -> Watched:
    """Replay one cook."""
    recorded, truths = read_cook(path)
    calls: list[Call] = []
    forecasts: dict[tuple[str, float], Forecast] = {}
    for effect in replay(recorded):
        if isinstance(effect, Call):
            calls.append(effect)
        elif isinstance(effect, Forecast):
            forecasts[effect.steak, effect.t] = effect
    return Watched(path.stem, truths, tuple(calls), forecasts)


async def measure() -> str:
    """The figures over every cook of the folder."""
    folder = Path(os.environ.get("COOKS", FOLDER))
    paths = cook_paths(folder)
    if not paths:
        return f"no cooks with a truth in {folder}: set COOKS to a folder that has some"
    with ProcessPoolExecutor() as pool:
        cooks = list(pool.map(watch, paths))
    return "\n  ".join(chain([f"{len(cooks)} cooks of {folder}"], report(cooks)))


def report(cooks: Sequence[Watched]) -> Iterable[str]:
    """A line per figure."""
    yield _counts(cooks)
    yield _alarms(cooks)
    steaks = [(cook, truth) for cook in cooks for truth in cook.truths]
    yield _now(steaks)
    yield from _leads(steaks)
    holds = Counter(len(c.raised(CallKind.PULL_HOLD, steak=t.name)) for c, t in steaks)
    yield f"holds per steak: {_counted(holds)}"
    yield from _trouble(cooks, steaks)


def _counts(cooks: Sequence[Watched]) -> str:
    said = [len(cook.calls) for cook in cooks]
    raised = [len({call.id for call in cook.calls}) for cook in cooks]
    return (
        f"announcements per cook: median {np.median(said):.0f}, most {max(said)}; "
        f"calls and alarms: median {np.median(raised):.0f}, most {max(raised)}"
    )


def _alarms(cooks: Sequence[Watched]) -> str:
    clean = [cook for cook in cooks if cook.is_clean]
    kinds = Counter(str(call.call) for cook in clean for call in cook.alarms())
    none = sum(not cook.alarms() for cook in cooks)
    quiet = sum(not cook.alarms() for cook in clean)
    return (
        f"alarms: none in {quiet} of {len(clean)} clean cooks (no gap, spike or slip; target all), "
        f"there {_counted(kinds)}; none in {none} of all {len(cooks)}"
    )


def _now(steaks: Sequence[tuple[Watched, SteakTruth]]) -> str:
    false, missed, stayed = [], [], 0
    for cook, truth in steaks:
        now = min((c.t for c in cook.raised(*_NOW, steak=truth.name)), default=np.inf)
        if now < truth.cross_s - EARLY_S:
            false.append(f"{cook.cook} {truth.name} {truth.cross_s - now:.0f} s early")
        if truth.off_s >= truth.cross_s + LATE_S:
            stayed += 1
            if now > truth.cross_s + LATE_S:
                missed.append(f"{cook.cook} {truth.name}")
    return (
        f'false "pull now" (over {EARLY_S:.0f} s early): {len(false)} of {len(steaks)} {false}; '
        f"missed (not within {LATE_S:.0f} s after): {len(missed)} of {stayed} left on {missed}"
    )


def _leads(steaks: Sequence[tuple[Watched, SteakTruth]]) -> Iterable[str]:
    """The true seconds left at the first announcement of each lead."""
    for lead in (40.0, 20.0, 10.0):
        left = []
        for cook, truth in steaks:
            said = cook.raised(CallKind.PULL_SOON, steak=truth.name)
            left += [truth.cross_s - call.t for call in said if call.in_s == lead][:1]
        if left:
            low, p10, p50, p90, high = np.percentile(left, [0, 10, 50, 90, 100])
            yield (
                f"true lead of {lead:.0f}: median {p50:.1f}, p10 {p10:.1f}, p90 {p90:.1f}, least "
                f"{low:.1f}, most {high:.1f} s; {len(left)} of {len(steaks)} steaks had it"
            )
    firsts = Counter(_first(cook, truth.name) for cook, truth in steaks)
    yield f"first announcement ahead: {_counted(firsts)}"


def _first(cook: Watched, steak: str) -> str:
    said = cook.raised(CallKind.PULL_SOON, steak=steak)
    if not said:
        return "none"
    return "stand by" if said[0].in_s is None else f"{said[0].in_s:.0f}"


def _trouble(
    cooks: Sequence[Watched], steaks: Sequence[tuple[Watched, SteakTruth]]
) -> Iterable[str]:
    """Alarms of probes and forecasts, and how many of them had their reason."""
    lost, wrong, shaky = Counter[bool](), Counter[bool](), Counter[bool]()
    for cook, truth in steaks:
        for call in cook.raised(CallKind.PROBE_LOST, steak=truth.name):
            lost[any(a <= call.t <= b for a, b in _silences(truth))] += 1
        for call in cook.raised(CallKind.PROBE_WRONG, steak=truth.name):
            wrong[any(0.0 <= call.t - slip <= BEFORE_S for slip in truth.slips)] += 1
        for call in cook.raised(CallKind.FORECAST_SHAKY, steak=truth.name):
            shaky[_is_far_off(cook.forecasts[truth.name, call.t], truth)] += 1
    slips = sum(len(truth.slips) for _, truth in steaks)
    gaps = sum(len(truth.gaps) for _, truth in steaks)
    yield f"probe_lost: {lost.total()}, {lost[True]} in a gap of {gaps}"
    yield f"probe_wrong: {wrong.total()}, {wrong[True]} after a slip of {slips}"
    yield (
        f"forecast_shaky: {shaky.total()}, {shaky[True]} while the median was over "
        f"{SHAKY_BAND_S / 2:.0f} s off"
    )
    yield f"other alarms: {_counted(Counter(_others(cooks)))}"


def _silences(truth: SteakTruth) -> Iterable[tuple[float, float]]:
    """The gaps, each with the moment of doubt after it."""
    return ((a, b + BEFORE_S) for a, b in truth.gaps)


def _others(cooks: Sequence[Watched]) -> Iterable[str]:
    told = (CallKind.PROBE_LOST, CallKind.PROBE_WRONG, CallKind.FORECAST_SHAKY)
    return (str(call.call) for cook in cooks for call in cook.alarms() if call.call not in told)


def _is_far_off(forecast: Forecast, truth: SteakTruth) -> bool:
    pull = forecast.pull_in_s
    return pull is None or abs(forecast.t + pull.p50 - truth.cross_s) > SHAKY_BAND_S / 2


def _counted(counts: Counter[int] | Counter[str]) -> str:
    return ", ".join(f"{key}: {n}" for key, n in sorted(counts.items(), key=str)) or "none"
