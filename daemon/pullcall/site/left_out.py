"""What a cook goes on without, in words for people."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from pullcall.core.omission import Omission, Span
from pullcall.events import CookHeader, Input, Mark, Reading, Setting, Spot, Undo
from pullcall.local_zone import local
from pullcall.plan.wall import wall_time

_FAILED = "could not be worked with and"


def left_out(omission: Omission, setup: CookHeader) -> str:
    """What was left out and what to do about it, as a sentence without its full stop."""
    if isinstance(omission.what, Span):
        return _span_left_out(omission.what, setup)
    what, then = _named(omission.what, setup)
    return f"{what} at {_clock(omission.what.t, setup)} {_FAILED} is left out: {then}"


def all_left_out(omissions: Sequence[Omission], setup: CookHeader) -> str:
    """The same of several, as sentences."""
    return " ".join(f"{left_out(omission, setup)}." for omission in omissions)


def _span_left_out(span: Span, setup: CookHeader) -> str:
    since, until = _clock(span.since, setup), _clock(span.until, setup)
    if Mark in span.kinds:
        what, then = "Everything", "enter again what is on and since when"
    elif Setting in span.kinds:
        what, then = "Everything but marks", "look at the steaks and the settings"
    else:
        what, then = "Everything but marks and settings", "look at the steaks"
    return f"{what} from {since} to {until} {_FAILED} is left out: {then}"


def _named(event: Input, setup: CookHeader) -> tuple[str, str]:
    """What it was, and what to do now."""
    match event:
        case Reading(steak=str(steak)):
            return f"A reading of the {steak} probe", "look at the steak"
        case Reading(channel=channel) if channel and channel == setup.fire.channel:
            return "A reading of the grate's probe", "look at the fire"
        case Reading():
            return "A reading of a probe that has no steak", "look at the probes"
        case Spot(steak=steak):
            return f"The spot of {_of(steak, 'the grate')}", "measure again"
        case Mark(steak=steak, mark=mark):
            return f'The mark "{mark}" of {_of(steak, "all")}', "enter it again"
        case Setting(steak=steak, name=name):
            return f"The setting {name} of {_of(steak, 'the cook')}", "set it to something else"
        case Undo():
            return "What was taken back", "look at the marks"
    return "An answer to a call, or what was seen around the cook,", "look at the steaks"


def _of(steak: str | None, otherwise: str) -> str:
    return otherwise if steak is None else steak


def _clock(t: float, setup: CookHeader) -> str:
    """The time of day of a moment; seconds of the cook where that is not known."""
    try:
        return f"{local(datetime.fromisoformat(wall_time(setup, t))):%H:%M:%S}"
    except (ValueError, OverflowError):
        return f"{t:g} s"
