"""The forecast peak: the rule of thumb before off, what is left to rise after."""

import pytest

from pullcall.forecast.peak import peak_if_pulled, peak_resting


def test_before_off_the_peak_is_the_five_degree_rule_over_the_pull() -> None:
    # Carry-over of five degrees Fahrenheit: common practice, no source.
    peak = peak_if_pulled(53.9)
    assert peak.p50 - 53.9 == pytest.approx(5.0 / 1.8, abs=0.03)
    assert (peak.p10, peak.p90) == pytest.approx((54.9, 58.9))


def test_the_peak_is_never_below_what_was_already_seen() -> None:
    assert peak_if_pulled(53.9, highest_c=60.0).p10 == 60.0
    falling = peak_resting(50.0, -0.02, highest_c=57.3, rested_s=300.0, sigma_c=0.1)
    assert falling.p50 == 57.3
    assert falling.p10 >= 57.2


def test_a_core_that_rises_faster_has_more_still_to_rise() -> None:
    slow, fast = (peak_resting(54.0, rise, 54.0, 10.0, 0.1) for rise in (0.03, 0.09))
    assert 54.0 < slow.p50 < fast.p50


def test_the_same_rise_means_less_and_is_surer_the_longer_the_rest() -> None:
    peaks = [peak_resting(54.0, 0.05, 54.0, rested, 0.1) for rested in (0.0, 30.0, 90.0, 240.0)]
    middles, widths = [p.p50 for p in peaks], [p.p90 - p.p10 for p in peaks]
    assert middles == sorted(middles, reverse=True)
    assert widths == sorted(widths, reverse=True)
