"""Reading a hand-held spot: it was meant for the middle and may have missed it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from pullcall.forecast.members import Members
from pullcall.forecast.slab import Array

#: A hand-held thermometer and the moment it is read, sd, C.
SPOT_SIGMA_C = 1.3
#: Where its tip may be, share of the thickness from the middle, and how likely.
_PLACES = ((0.0, 0.8), (-0.1, 0.08), (0.1, 0.08), (-0.22, 0.02), (0.22, 0.02))
#: A figure mistyped, or read in no meat at all, is this likely, and may be anything over so many
#: degrees, C: without it one absurd spot would leave a handful of members, sure of themselves.
_MISTAKE, _MISTAKE_OVER_C = 0.02, 100.0
#: From here on it counts as near the surface.
_NEAR_SURFACE = 0.2
#: More likely than not.
_LIKELY = 0.5


class Doubt(StrEnum):
    """What is wrong with a spot."""

    MISTAKEN = "mistaken"
    NEAR_SURFACE = "near_surface"


@dataclass(frozen=True, slots=True)
class DoubtedSpot:
    """A spot that was hardly taken in the middle, and why."""

    celsius: float
    doubt: Doubt


@dataclass(frozen=True, slots=True)
class SpotReading:
    """What a spot says to each member, (M,): its likelihood, the surprise, the chance it missed (if
    it was taken in the meat), and the chance that it was mistyped."""

    log_likelihood: Array
    surprise: Array
    near_surface: Array
    mistaken: Array


def doubted(celsius: float, mistaken: float, missed: float) -> DoubtedSpot | None:
    """A spot as it is doubted, by the chances that it was mistyped and that it missed the middle;
    None where it is believed."""
    if mistaken > _LIKELY:
        return DoubtedSpot(celsius, Doubt.MISTAKEN)
    return DoubtedSpot(celsius, Doubt.NEAR_SURFACE) if missed > _LIKELY else None


def read_spot(members: Members, missed_c: Array, t: float, celsius: float) -> SpotReading:
    """Weigh the places a spot of ``celsius`` at ``t`` may have been taken at.

    :param missed_c: what each member is known to miss, C, (M,).
    """
    cells = members.cells_c(t)
    off = np.stack(
        [celsius - missed_c - members.at_depth(cells, place) for place, _ in _PLACES], axis=1
    )
    logs = np.log([share for _, share in _PLACES]) - 0.5 * (off / SPOT_SIGMA_C) ** 2
    flat = _MISTAKE * SPOT_SIGMA_C * np.sqrt(2.0 * np.pi) / _MISTAKE_OVER_C
    mistake = np.full((len(off), 1), np.log(flat))
    logs = np.concatenate([logs, mistake], axis=1)
    most = logs.max(axis=1, keepdims=True)
    likely = np.exp(logs - most)
    total = likely.sum(axis=1)
    chances = likely / total[:, None]
    outer = np.array([abs(place) >= _NEAR_SURFACE for place, _ in _PLACES])
    taken = likely[:, :-1]  # where it was, if it was no mistake
    return SpotReading(
        log_likelihood=most[:, 0] + np.log(total),
        surprise=(chances[:, :-1] * off).sum(axis=1),
        near_surface=taken[:, outer].sum(axis=1) / np.maximum(taken.sum(axis=1), 1e-300),
        mistaken=chances[:, -1],
    )
