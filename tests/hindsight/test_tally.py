"""Figures over many cooks."""

from __future__ import annotations

import pytest

from pullcall.events import CookHeader, Quantiles, SteakSettings
from pullcall.hindsight.facts import CookFacts, FireFacts, LeadScore, PeakScore, SteakFacts
from pullcall.hindsight.tally import tally


def steak(name: str, off_t: float, error_s: float, error_c: float) -> SteakFacts:
    """A steak whose pull and peak were forecast so much too late and too high."""
    told = Quantiles(35.0 + error_s, 40.0 + error_s, 45.0 + error_s)
    peak = Quantiles(56.0 + error_c, 57.0 + error_c, 58.0 + error_c)
    return SteakFacts(
        name,
        SteakSettings(name),
        off_t=off_t,
        now_t=off_t - 4.0,
        leads=(LeadScore(40.0, off_t - 40.0, told, 40.0, abs(error_s) / 2.0, 10.0),),
        peaks=(PeakScore(0.0, off_t, peak, 57.0, 0.1), PeakScore(60.0, off_t, peak, 57.0, 0.1)),
    )


def cook(name: str, *steaks: SteakFacts) -> CookFacts:
    return CookFacts(name, CookHeader(name, ""), 0.0, steaks, FireFacts())


def said(cooks: list[CookFacts], unit: str = "C", last: int = 8) -> dict[str, str]:
    return {figure.label: figure.words(unit) for figure in tally(cooks, last)}


def test_the_figures_are_those_of_the_last_pulls() -> None:
    cooks = [
        cook("one", steak("left", 600.0, 30.0, 3.0), steak("right", 660.0, 2.0, 0.5)),
        cook("two", steak("left", 600.0, -4.0, -1.5), steak("right", 500.0, 8.0, 1.0)),
    ]
    assert said(cooks, last=3) == {
        "Forecast error at 40 s": "4.0 s over your last 3 pulls (median)",
        "Band at 40 s": "held the truth in 2 of 3, meant is 8 in 10",
        "Forecast score at 40 s": "2.3 s over your last 3 pulls, of misses and of the band’s "
        "width together: less is better (mean CRPS)",
        "Carry-over error": "1.0 C over your last 3 pulls (median)",
        "Band of the carry-over": "held the truth in 2 of 3, meant is 8 in 10",
        "Reaction": '4.0 s from "pull now" to off over your last 3 pulls (median)',
    }


def test_the_last_pull_is_the_one_that_came_off_last() -> None:
    two = cook("two", steak("left", 600.0, -4.0, 0.0), steak("right", 500.0, 8.0, 1.0))
    assert tally([two], last=1)[0].value == pytest.approx(4.0)


def test_a_difference_of_temperatures_is_said_in_the_readers_unit() -> None:
    one = [cook("one", steak("left", 600.0, 0.0, 1.5))]
    assert said(one, "F")["Carry-over error"] == "2.7 F in your last pull (median)"
    assert said(one, "F")["Forecast error at 40 s"] == "0.0 s in your last pull (median)"


def test_nothing_is_said_of_what_no_cook_has() -> None:
    bare = SteakFacts("left", SteakSettings("left"), off_t=600.0)
    assert tally([cook("one", bare)]) == ()
    assert tally([]) == ()
