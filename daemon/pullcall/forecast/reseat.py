"""A probe that was pushed or pulled to another place: its readings step and stay there."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

Point = tuple[float, float]

#: Readings on each side that must agree on a step.
SIDE = 5
#: No core rises or falls faster by itself, K/s: 18 K/min.
FASTEST_RISE = 0.3
#: The least step, C, and the step in sd of a reading, besides: five sd of the difference of
#: two medians of five, each of sd 0.536 sigma (normal order statistics; from memory).
LEAST_STEP_C, STEP_SD = 1.0, 3.8


def step_of(points: Sequence[Point], sigma_c: float) -> float:
    """Step in C between the last SIDE readings and those before; 0 if there is none.

    ``points`` are (t, celsius) in time order, of which the last 2 SIDE and the first count.
    The rise until the step is taken out of it.
    """
    if len(points) < 2 * SIDE:
        return 0.0
    if abs(points[-1][1] - points[-SIDE - 1][1]) <= LEAST_STEP_C / 2:
        return 0.0  # the usual case, told cheaply
    (t_before, before), (t_after, after) = (
        np.median(np.array(side), axis=0) for side in (points[-2 * SIDE : -SIDE], points[-SIDE:])
    )
    apart = float(t_after - t_before)
    least = LEAST_STEP_C + FASTEST_RISE * apart + STEP_SD * sigma_c
    away = np.array(points[-SIDE:])[:, 1] - before
    if not (np.all(away > least / 2) or np.all(away < -least / 2)):
        return 0.0
    if abs(float(after - before)) <= least:
        return 0.0
    since = float(t_before - points[0][0])
    rise = float(before - points[0][1]) / since if since > 2.0 * apart else 0.0
    return float(after - before) - apart * float(np.clip(rise, -FASTEST_RISE, FASTEST_RISE))
