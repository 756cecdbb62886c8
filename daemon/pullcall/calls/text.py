"""The English words of every call: short, and the number first heard is the number meant.

Another language is another file with these functions.
"""

from __future__ import annotations

import math

from pullcall.events import CallKind, Fault

_VERBS = {CallKind.TURN: "turn", CallKind.FLIP: "flip"}
_STEPS = {
    "season": "Trim, salt and season",
    "light": "Light the chimney",
    "pour": "Pour the coal, unlit on top",
    "fetch": "Fetch the steaks",
}
_STEAK_STEPS = {"cook": "put it on", "box": "box it"}
_NOTICES = {
    Fault.RECORDER: "The cook is not being recorded, calls go on",
    Fault.DISK: "The disk is nearly full",
    Fault.CLOCK: "The clock jumped, check the turn-in window",
    Fault.UNSET: "The time of day is not known, compare the clock",
}


def pull_soon(steak: str, in_s: float) -> str:
    """A pull coming up."""
    return f"{_name(steak)}: pull in about {in_s:.0f}"


def pull_hold(steak: str, in_s: float) -> str:
    """A pull announced before comes later."""
    return f"{_name(steak)}: hold, about {in_s:.0f}"


def stand_by(steak: str) -> str:
    """The forecast is unsure and the temperature nearly there."""
    return f"{_name(steak)}: nearly there, stand by"


def pull_now(steak: str, is_estimate: bool = False) -> str:
    """The pull is due; or it is by the forecast, and no thermometer in the steak says so."""
    return f"{_name(steak)}: pull now" + (", by estimate: check it" if is_estimate else "")


def spot_due(steak: str, low_s: float, high_s: float) -> str:
    """A steak without a probe wants a spot; the pull may come between these seconds from now."""
    low = math.floor(low_s / 60.0)
    high = max(math.ceil(high_s / 60.0), low + 1)
    return f"{_name(steak)}: spot it, pull may come in {low} to {high} min"


def over(steak: str) -> str:
    """The core went past the pull temperature with the steak still on."""
    return f"{_name(steak)}: over, take it off"


def planned(kind: CallKind, steaks: tuple[str, ...], in_s: float) -> str:
    """A turn or flip; several steaks are "both" or "all".

    The steak comes first as in every call: "turn right now" would be a direction, and at once.
    """
    when = f"in {in_s:.0f}" if in_s > 0 else "now"
    return f"{_names(steaks)}: {_VERBS[kind]} {when}"


def probe_lost(steak: str) -> str:
    """No reading comes from the probe any more."""
    return f"{_name(steak)}: no probe reading, tap in a spot"


def probe_wrong(steak: str) -> str:
    """The probe moved."""
    return f"{_name(steak)}: probe moved, tap in a spot"


def forecast_shaky(steak: str) -> str:
    """The forecast cannot say when."""
    return f"{_name(steak)}: forecast unsure, watch the temperature"


def rest_done(steak: str) -> str:
    """Rested, and past its peak."""
    return f"{_name(steak)}: rested, choose and box"


def fire_low() -> str:
    """The grate is below its floor."""
    return "Fire falling, below the floor"


def fire_high() -> str:
    """The grate is above its ceiling."""
    return "Fire flaring, above the ceiling"


def plan_step(step: str, steak: str | None) -> str | None:
    """A step of the plan to begin; None for one that nobody has to begin."""
    if steak is not None and step in _STEAK_STEPS:
        return f"{_name(steak)}: {_STEAK_STEPS[step]}"
    if step == "box":
        return "Box it"
    return "Go to turn-in" if step == "walk" else _STEPS.get(step)


def window_open() -> str:
    """The turn-in window is open: how long still, the page's clock tells."""
    return "Turn-in is open"


def window_closes(left_s: float) -> str:
    """The turn-in window closes: minutes while there are some, then seconds by tens."""
    if left_s > 120.0:
        return f"Turn-in closes in {math.ceil(left_s / 60.0)} min"
    return f"Hand in now: {10 * math.floor(left_s / 10.0)} seconds left"


def window_closed() -> str:
    """The turn-in window is over."""
    return "Turn-in is closed"


def unheard() -> str:
    """No phone is armed and no loudspeaker plays."""
    return "Nobody is hearing this: arm a phone or a speaker"


def notice(fault: Fault, detail: str) -> str:
    """Something around the cook is wrong."""
    if fault is Fault.BATTERY:
        return f"Probe battery low: {detail}"
    if fault is Fault.UNSET and detail:
        return "Restarted without a clock: how long that took is a guess"
    return _NOTICES[fault]


def _name(steak: str) -> str:
    return steak[:1].upper() + steak[1:]


def _names(steaks: tuple[str, ...]) -> str:
    if len(steaks) == 1:
        return _name(steaks[0])
    return "Both" if len(steaks) == 2 else "All"
