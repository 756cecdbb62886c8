"""How much sooner or higher a changed cook comes out, as simulated cooks show it.

Found by changing one thing at a time in the project's own simulator (not from real meat) between
the limits below; the tests find the figures again.
"""

from __future__ import annotations

from pullcall.hindsight.facts import SteakFacts

#: The time to the pull goes with the way the core has to climb, raised to this: 0.55 to 0.58.
TIME_PER_WAY = 0.565
#: It goes with the square of the thickness (1.96 to 2.04), as equal Fourier numbers say.
TIME_PER_THICKNESS = 2.0
#: It goes against how far the grate is above boiling, which drives the heat through a face that
#: boils, raised to this: 0.28 to 0.35.
TIME_PER_GRATE = -0.32
_BOILING_C = 100.0
#: Higher peak for each kelvin that it comes off later: 0.76 to 0.80.
PEAK_PER_PULL = 0.78

#: Where those were found: on at 2 to 20 C, 26 to 40 mm thick, the grate at 255 to 330 C.
_START_C, _THICK_MM, _GRATE_C = (2.0, 20.0), (26.0, 40.0), (255.0, 330.0)
#: Effects on the pull are told to the nearest of these, seconds.
_STEP_S = 5.0


def later_s(
    earlier: SteakFacts, name: str, before: float | None, after: float | None
) -> float | None:
    """How much later the pull comes for a measure that went from ``before`` to ``after``.

    None where nothing was found of that measure, or outside the limits it was found between.
    """
    if before is None or after is None or (took_s := _on_grate_s(earlier)) is None:
        return None
    if name == "start" and _within(_START_C, before, after) and earlier.pull_c is not None:
        return took_s * _more((earlier.pull_c - after) / (earlier.pull_c - before), TIME_PER_WAY)
    if name == "thickness" and _within(_THICK_MM, before, after):
        return took_s * _more(after / before, TIME_PER_THICKNESS)
    if name == "grate_mean" and _within(_GRATE_C, before, after):
        return took_s * _more((after - _BOILING_C) / (before - _BOILING_C), TIME_PER_GRATE)
    return None


def _more(share: float, power: float) -> float:
    """What raising does to a share, as a share more."""
    return float(share**power) - 1.0


def rounded_s(seconds: float) -> float:
    """As far as it can be told."""
    return _STEP_S * round(abs(seconds) / _STEP_S)


def off_for_peak_c(off_c: float, peak_c: float, wanted_c: float) -> float:
    """The core at off that would have made the peak ``wanted_c``, Celsius."""
    return off_c - (peak_c - wanted_c) / PEAK_PER_PULL


def _on_grate_s(steak: SteakFacts) -> float | None:
    """From on to the pull temperature, or to off where that was not seen."""
    end = steak.off_t if steak.cross_t is None else steak.cross_t
    return None if end is None or steak.on_t is None else end - steak.on_t


def _within(limits: tuple[float, float], *values: float) -> bool:
    return all(limits[0] <= value <= limits[1] for value in values)
