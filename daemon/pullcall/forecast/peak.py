"""The highest temperature the core will reach: carry-over before and after the pull."""

from __future__ import annotations

import math

from pullcall.events import Quantiles

#: Carry-over while still on, K: the five-degree (F) rule. Common practice, no source.
CARRY_OVER_C = 2.8
#: Its spread, K over the pull temperature. Common practice, no source.
CARRY_OVER_LOW_C, CARRY_OVER_HIGH_C = 1.0, 5.0

#: After off, what is left to rise is the rise times REACH_S, and that reach halves every
#: HALVING_S of rest. Measured on simulated cooks, steaks of 25 to 40 mm.
REACH_S = 70.0
HALVING_S = 30.0
#: The spread of what is left (p10 to p50, p50 to p90): a share of it, and this much at off, K,
#: halving every SPREAD_HALVING_S. Measured likewise.
LEFT_SHARE = 0.5
LEFT_SPREAD_C = 1.2
SPREAD_HALVING_S = 75.0


def peak_if_pulled(at_c: float, highest_c: float = -math.inf) -> Quantiles:
    """Peak in C of a steak pulled with its core at ``at_c``; ``highest_c`` was already seen."""
    over = (CARRY_OVER_LOW_C, CARRY_OVER_C, CARRY_OVER_HIGH_C)
    return rounded(*(max(at_c + carry, highest_c) for carry in over))


def peak_resting(
    core_c: float, rise: float, highest_c: float, rested_s: float, sigma_c: float
) -> Quantiles:
    """Peak in C of a steak ``rested_s`` after off; its middle is never below ``highest_c``.

    ``core_c`` is the core now, ``rise`` its rise in K/s, ``highest_c`` the highest core seen
    and ``sigma_c`` one reading's sd, which leaves the highest that is seen a little unsure.
    """
    rested = max(rested_s, 0.0)
    left = max(rise, 0.0) * REACH_S * 0.5 ** (rested / HALVING_S)
    spread = LEFT_SHARE * left + LEFT_SPREAD_C * 0.5 ** (rested / SPREAD_HALVING_S)
    middle = core_c + left
    low = max(middle - spread, highest_c - sigma_c)
    return rounded(low, max(middle, highest_c), max(middle + spread, highest_c + sigma_c))


def rounded(low: float, middle: float, high: float) -> Quantiles:
    """Quantiles to a hundredth of a degree."""
    return Quantiles(round(low, 2), round(middle, 2), round(high, 2))
