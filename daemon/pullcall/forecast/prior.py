"""What is believed of a steak and its fire before the first reading: wide, and with a meaning each.

The means and spreads were learned from simulated cooks and then widened (docs/forecast.md says how
and by how much); none is a measurement of meat. Gains and levels are *apparent*: a linear slab sees
the evaporating, drying face of a real steak as a level near the boiling point behind a large gain.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

import numpy as np

from pullcall.events import Normal
from pullcall.forecast.slab import Array

#: Members drawn for each steak. 400 to 2,000 score alike; this many keeps a forecast under 2 ms.
MEMBERS = 600
_SEED = 20260613


@dataclass(frozen=True, slots=True)
class Unknown:
    """One unknown: normal with ``mean`` and ``sd`` in its unit, or its logarithm is."""

    name: str
    mean: float
    sd: float
    unit: str
    is_log: bool = False


#: Of the fire, the lid and the cook's habits: the same for both steaks of a cook.
FIRE = (
    Unknown("hot_gain", np.log(250.0), 0.30, "h/k of the face on the grate, 1/m", is_log=True),
    Unknown("hot_level", 122.0, 11.0, "level that face sees through its wet crust, C"),
    Unknown("hot_drift", 0.004, 0.022, "rise of that level, K/s"),
    Unknown("cool_gain", np.log(190.0), 0.45, "h/k of the upper face, 1/m", is_log=True),
    Unknown("cool_level", 69.0, 9.0, "level the wet upper face sees, C"),
    Unknown("lid_drop", -30.0, 25.0, "change of that level while the lid is open, K"),
    Unknown("second_face", 4.0, 14.0, "change of the hot level after the flip, K"),
)
#: Of one steak, its probe and its rest.
STEAK = (
    Unknown("thickness", -0.10, 0.09, "true over stated thickness, logarithm", is_log=True),
    Unknown("diffusivity", np.log(2.1e-7), 0.28, "apparent diffusivity, m2/s", is_log=True),
    Unknown("depth", -0.02, 0.10, "tip from the middle, share of the thickness, up positive"),
    Unknown("lag", np.log(10.0), 0.45, "time constant of probe and meat around it, s", is_log=True),
    Unknown("baste", -18.0, 15.0, "chill of the upper face by a baste, K in its outer cell"),
    Unknown("rest_gain", np.log(90.0), 0.45, "h/k of a resting face, 1/m", is_log=True),
    Unknown("rest_level", 21.0, 9.0, "level a resting face sees, air less evaporation, C"),
    Unknown(
        "board", -0.1, 0.6, "resting gain of the face on a board over the other, log", is_log=True
    ),
    Unknown("flash", 86.0, 8.0, "faces boil down to this as the steak comes off, C"),
)

Draws = dict[str, Array]
#: What earlier cooks taught instead, by name, in an order that keys a cache.
Taught = tuple[tuple[str, Normal], ...]
#: A taught mean lies at most this many spreads from the usual one, and a taught spread between
#: these shares of it: anything else is a mistake in a log, and no slab would survive it.
_FARTHEST_SDS, _NARROWEST, _WIDEST = 5.0, 0.02, 3.0


@cache
def _normals(stream: int, columns: int) -> Array:
    """Standard normal numbers, the same at every run, (MEMBERS, columns)."""
    return np.random.default_rng((_SEED, stream)).standard_normal((MEMBERS, columns))


def taught_prior(prior: Mapping[str, Normal]) -> Taught:
    """What of ``prior`` names an unknown and can be meant, in the order of the names."""
    known = {unknown.name: unknown for unknown in (*FIRE, *STEAK)}
    return tuple(
        (name, normal)
        for name, normal in sorted(prior.items())
        if name in known and _can_be_meant(known[name], normal)
    )


def _can_be_meant(unknown: Unknown, normal: Normal) -> bool:
    is_near = abs(normal.mean - unknown.mean) <= _FARTHEST_SDS * unknown.sd
    return is_near and _NARROWEST * unknown.sd <= normal.sd <= _WIDEST * unknown.sd


def draw(steak: int, taught: Taught = ()) -> Draws:
    """The members of the ``steak``-th steak of a cook: name -> values, (MEMBERS,).

    Member i of every steak of a cook cooks over the same fire, so what one steak teaches of the
    fire can be told to the other. What is ``taught`` moves and narrows the same members.
    """
    instead = dict(taught)
    fire = _named(FIRE, _normals(0, len(FIRE)), instead)
    return fire | _named(STEAK, _normals(1 + steak, len(STEAK)), instead)


def _named(unknowns: tuple[Unknown, ...], normals: Array, instead: Mapping[str, Normal]) -> Draws:
    draws = {}
    for column, unknown in enumerate(unknowns):
        believed = instead.get(unknown.name, unknown)
        values = believed.mean + believed.sd * normals[:, column]
        draws[unknown.name] = np.exp(values) if unknown.is_log else values
    return draws
