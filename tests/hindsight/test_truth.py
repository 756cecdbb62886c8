"""The true crossing and peak, against cooks whose truth is known and against a closed form."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import cache
from random import Random
from statistics import median

import pytest

from pullcall.events import Mark, MarkKind, Reading
from pullcall.hindsight.facts import Trace
from pullcall.hindsight.truth import Crossing, Peak, TrueCore
from tests.forecast.cooks.simulated import KnownCook, Truth, copied_cooks, own_cooks

LEVEL_C = 54.0
WHOLE_F = 5.0 / 9.0


def core_c(t: float) -> float:
    """A core on its way from 5 C to a level of 90 C: it crosses 54 C at 600 x ln(85 / 36)."""
    return 90.0 - 85.0 * math.exp(-t / 600.0)


CROSS_T = 600.0 * math.log(85.0 / 36.0)


def rest_c(t: float, off_t: float, climb_c: float = 3.0, climbs_s: float = 120.0) -> float:
    """A rest that climbs by ``climb_c`` to its peak, then falls as it rose."""
    return core_c(off_t) + climb_c * (1.0 - ((t - off_t) / climbs_s - 1.0) ** 2)


def shown(off_t: float, until: float, step_c: float = 0.1, noise_c: float = 0.1) -> Trace:
    """A reading a second: the core until off, then the rest."""
    rng = Random(5)
    out = []
    for t in range(5, int(until)):
        true_c = core_c(t) if t <= off_t else rest_c(t, off_t)
        seen = true_c + rng.gauss(0.0, noise_c)
        out.append((float(t), round(round(seen / step_c) * step_c, 3)))
    return tuple(out)


def without(trace: Trace, begin: float, end: float) -> Trace:
    return tuple(r for r in trace if not begin < r[0] < end)


def of(cook: KnownCook, truth: Truth) -> TrueCore:
    on_t = next(
        e.happened
        for e in cook.events
        if isinstance(e, Mark) and e.mark is MarkKind.ON and e.steak in (None, truth.steak)
    )
    readings = tuple(
        (e.t, e.celsius) for e in cook.events if isinstance(e, Reading) and e.steak == truth.steak
    )
    return TrueCore(readings, on_t, truth.pull_s)


def _found() -> Iterator[tuple[Truth, Crossing | None, Peak | None]]:
    for cook in (*copied_cooks(), *own_cooks()):
        pulls = {s.steak: s.pull_c for s in cook.header.steaks}
        for truth in cook.truths:
            core = of(cook, truth)
            yield truth, core.crossing(pulls[truth.steak]), core.peak()


@cache
def found() -> tuple[tuple[Truth, Crossing | None, Peak | None], ...]:
    """What the readings of every known cook say, beside its truth."""
    return tuple(_found())


def test_crossings_of_known_cooks_are_found_within_a_few_seconds() -> None:
    """Probes here have up to 0.2 C of noise, a figure each 0.5 to 4 s, half of them in half
    degrees or whole Fahrenheit, with spikes and silences of up to a minute."""
    off = [abs(at.t - truth.cross_s) for truth, at, _ in found() if at is not None]
    assert len(off) >= 44
    assert median(off) < 1.0
    assert max(off) < 3.5


def test_no_crossing_is_claimed_within_a_long_silence() -> None:
    core = TrueCore(without(shown(560.0, 700.0), CROSS_T - 30.0, CROSS_T + 30.0), 0.0, 560.0)
    assert core.crossing(LEVEL_C) is None


def test_a_short_silence_is_bridged() -> None:
    core = TrueCore(without(shown(560.0, 700.0), CROSS_T - 15.0, CROSS_T + 15.0), 0.0, 560.0)
    at = core.crossing(LEVEL_C)
    assert at is not None
    assert at.t == pytest.approx(CROSS_T, abs=1.5)
    assert not at.is_extrapolated


def test_a_peak_is_found_within_a_quarter_degree() -> None:
    """Most known cooks end two minutes after off, before their peak: those show none."""
    off = [abs(peak.celsius - truth.peak_c) for truth, _, peak in found() if peak is not None]
    assert len(off) >= 15
    assert max(off) < 0.25


@pytest.mark.parametrize(("step_c", "noise_c"), [(0.1, 0.0), (0.1, 0.2), (WHOLE_F, 0.1)])
def test_a_crossing_is_that_of_the_closed_form(step_c: float, noise_c: float) -> None:
    core = TrueCore(shown(CROSS_T + 2.0, 900.0, step_c, noise_c), 0.0, CROSS_T + 2.0)
    at = core.crossing(LEVEL_C)
    assert at is not None
    assert at.t == pytest.approx(CROSS_T, abs=1.5)
    assert not at.is_extrapolated


def test_a_probe_that_rounds_to_whole_fahrenheit_without_noise_is_read_between_its_steps() -> None:
    core = TrueCore(shown(CROSS_T + 2.0, 900.0, WHOLE_F, 0.0), 0.0, CROSS_T + 2.0)
    at = core.crossing(LEVEL_C)
    assert at is not None
    assert at.t == pytest.approx(CROSS_T, abs=2.5)


@pytest.mark.parametrize("early_s", [5.0, 20.0])
def test_a_steak_pulled_early_and_its_probe_with_it_is_carried_on(early_s: float) -> None:
    off_t = CROSS_T - early_s
    core = TrueCore(shown(off_t, off_t), 0.0, off_t)
    at = core.crossing(LEVEL_C)
    assert at is not None
    assert at.is_extrapolated
    assert at.t == pytest.approx(CROSS_T, abs=3.0)


def test_a_steak_pulled_long_before_never_crossed() -> None:
    off_t = CROSS_T - 60.0
    assert TrueCore(shown(off_t, off_t), 0.0, off_t).crossing(LEVEL_C) is None


def test_spikes_move_no_crossing() -> None:
    spiked = tuple(
        (t, c + 8.0 if round(t) % 17 == 0 else c) for t, c in shown(CROSS_T + 2.0, 900.0)
    )
    at = TrueCore(spiked, 0.0, CROSS_T + 2.0).crossing(LEVEL_C)
    assert at is not None
    assert at.t == pytest.approx(CROSS_T, abs=1.5)


def test_a_probe_pushed_in_late_shows_no_crossing_before() -> None:
    """It lay in the heat beside the steak: that was no core."""
    late = tuple((t, 120.0 if t < 300.0 else c) for t, c in shown(CROSS_T + 2.0, 900.0))
    at = TrueCore(late, 0.0, CROSS_T + 2.0).crossing(LEVEL_C)
    assert at is not None
    assert at.t == pytest.approx(CROSS_T, abs=1.5)


def test_a_peak_is_that_of_the_closed_form() -> None:
    off_t = CROSS_T + 2.0
    peak = TrueCore(shown(off_t, off_t + 200.0), 0.0, off_t).peak()
    assert peak is not None
    assert peak.celsius == pytest.approx(core_c(off_t) + 3.0, abs=0.1)
    assert peak.t == pytest.approx(off_t + 120.0, abs=15.0)


def test_a_rest_that_still_climbs_has_no_peak() -> None:
    off_t = CROSS_T + 2.0
    assert TrueCore(shown(off_t, off_t + 90.0), 0.0, off_t).peak() is None


def test_a_probe_pulled_out_while_the_core_climbs_shows_no_peak() -> None:
    """It falls to the air's 20 C within seconds: that is not the rest."""
    off_t = CROSS_T + 2.0
    rest = shown(off_t, off_t + 80.0)
    last_t, last_c = rest[-1]
    air = tuple((last_t + k, 20.0 + (last_c - 20.0) * math.exp(-k / 8.0)) for k in range(1, 120))
    assert TrueCore((*rest, *air), 0.0, off_t).peak() is None


def test_a_probe_pulled_out_after_the_peak_leaves_it_standing() -> None:
    off_t = CROSS_T + 2.0
    rest = shown(off_t, off_t + 180.0)
    air = tuple((rest[-1][0] + k, 20.0) for k in range(1, 60))
    peak = TrueCore((*rest, *air), 0.0, off_t).peak()
    assert peak is not None
    assert peak.celsius == pytest.approx(core_c(off_t) + 3.0, abs=0.15)


def test_a_core_that_stays_level_has_had_its_peak() -> None:
    off_t = CROSS_T + 2.0
    level_c = rest_c(off_t + 120.0, off_t)
    level = tuple((off_t + 120.0 + k, round(level_c, 1)) for k in range(1, 150))
    peak = TrueCore((*shown(off_t, off_t + 120.0), *level), 0.0, off_t).peak()
    assert peak is not None
    assert peak.celsius == pytest.approx(level_c, abs=0.15)


def test_the_core_at_off_is_told_with_and_without_a_rest() -> None:
    off_t = CROSS_T + 2.0
    for until in (off_t, off_t + 200.0):
        found_c = TrueCore(shown(off_t, until), 0.0, off_t).at_off_c()
        assert found_c == pytest.approx(core_c(off_t), abs=0.15)


def test_readings_that_a_late_site_stamped_with_one_time_change_nothing() -> None:
    steady = tuple((float(t), 40.0 + 0.06 * t) for t in range(400))
    stamped = tuple((t, c + late) for t, c in steady for late in (0.0, 0.01, 0.02))
    level_c = 40.0 + 0.06 * 200.25
    for readings in (steady, stamped):
        found = TrueCore(readings, 0.0, None).crossing(level_c)
        assert found is not None
        assert found.t == pytest.approx(200.25, abs=0.5)
