"""What looks wrong with a steak or its probe, in plain words; the band is wide for a reason."""

from __future__ import annotations

import math

import numpy as np

from pullcall.degrees import celsius_to_fahrenheit
from pullcall.forecast.belief import Belief
from pullcall.forecast.rise_watch import Rise
from pullcall.forecast.spot import Doubt

#: A moved probe, a mark and a swap are spoken of for this long, s.
_SPOKEN_OF_S = 45.0
_MARK_FELT_S = 30.0
#: A probe that falls by this much at once has left the meat, C.
_OUT_OF_MEAT_C = -12.0
#: A tip this far from the middle (share of the thickness) shows the face, not the core.
_NEAR_FACE = 0.27
#: Evidence of a tip near a face is believed this long after on, s.
_TIP_TOLD_S = 180.0
#: A core past this that falls at this rate while on has probably come off, C and C/min.
_FALLS_FROM_C, _FALLS_C_PER_MIN = 35.0, -0.8
#: Members flipped without a mark that must be this likely before it is said.
_SURE = 0.85
#: Two probes that moved within this long, to within this of each other's place, changed places.
_SWAP_S, _SWAP_C = 15.0, 3.0
#: A gap is spoken of from here on, s; without a probe the age of the last spot from there on.
_GAP_S, _SPOT_GAP_S = 8.0, 300.0
#: Said where nothing is wrong but that a mark is fresh.
SETTLES = "just turned: settles in a minute"


def note_of(belief: Belief, swapped_t: float | None, rise: Rise | None, now: float) -> str | None:
    """The most useful thing to say about this steak now, or None."""
    if swapped_t is not None and now - swapped_t < 2.0 * _SPOKEN_OF_S:
        return "the probes seem swapped: check which is where"
    for note in (
        _moved(belief, now),
        _falling(belief, rise, now),
        _doubted(belief),
        _unmarked_flip(belief),
    ):
        if note is not None:
            return note
    return _uncertain(belief, now)


def look_swapped(one: Belief, other: Belief, t: float) -> bool:
    """Whether both probes moved just now, each to where the other was."""
    moves = (one.surprise, other.surprise)
    if any(move.moved_t is None or t - move.moved_t > _SWAP_S for move in moves):
        return False
    apart = one.surprise.moved_by_c + other.surprise.moved_by_c
    return abs(apart) < _SWAP_C and abs(one.surprise.moved_by_c) > 2.0 * _SWAP_C / 3.0


def _moved(belief: Belief, now: float) -> str | None:
    moved_t = belief.surprise.moved_t
    if moved_t is None or now - moved_t > _SPOKEN_OF_S:
        return None
    if belief.surprise.moved_by_c < _OUT_OF_MEAT_C:
        return "the probe seems to be out of the steak"
    return "the probe moved: is its tip in the middle?"


def _falling(belief: Belief, rise: Rise | None, now: float) -> str | None:
    if belief.off_t is not None or rise is None or belief.surprise.is_doubtful:
        return None
    if now - belief.changed_t < _SPOKEN_OF_S:
        return None
    if belief.core_c(now) > _FALLS_FROM_C and rise.c_per_min < _FALLS_C_PER_MIN:
        return "it cools as if off the grate: mark it off?"
    return None


def _doubted(belief: Belief) -> str | None:
    """What is doubted about the last spot, where spots are all there is."""
    spot = belief.doubted_spot
    if spot is None or belief.has_probe or belief.off_t is not None:
        return None
    told = f"{celsius_to_fahrenheit(spot.celsius):.0f} F ({spot.celsius:.1f} C)"
    if spot.doubt is Doubt.MISTAKEN:
        return f"{told} was not believed: take another"
    return f"{told} was near the surface: take another"


def _unmarked_flip(belief: Belief) -> str | None:
    if belief.flip_assumed_t is None or belief.off_t is not None:
        return None
    share = float(belief.weights() @ belief.members.flipped)
    if share > _SURE:
        return "flipped, it seems, but not marked"
    if share < 1.0 - _SURE:
        return "not flipped yet, it seems"
    return "no flip is marked: was it flipped?"


def _uncertain(belief: Belief, now: float) -> str | None:
    """Why the band is wide, where nothing is wrong."""
    if belief.off_t is not None or belief.on_t is None:
        return None
    if not belief.has_probe and (note := _spots_wanted(belief, now)) is not None:
        return note
    last = belief.last_reading_t
    if belief.has_probe and last is not None and now - last > _GAP_S:
        return f"no reading for {now - last:.0f} s: carried on without"
    tip = float(belief.weights() @ np.abs(belief.members.depth))
    if belief.has_probe and tip > _NEAR_FACE and now - belief.on_t > _TIP_TOLD_S:
        return "the tip seems near a face: check with a spot"
    if now - belief.changed_t < _MARK_FELT_S and now - belief.on_t > _MARK_FELT_S:
        return SETTLES
    return None


def _spots_wanted(belief: Belief, now: float) -> str | None:
    """The last spot is old, or there were too few."""
    last = belief.last_reading_t
    if last is not None and now - last > _SPOT_GAP_S:
        minutes = math.floor((now - last) / 60.0)
        return f"no spot for {minutes} min: the pull is a wide guess, tap in another"
    return "no probe: tap in two or three spots" if belief.spots < 2 else None
