"""The English words of every call: short, and the number first heard is the number meant."""

from __future__ import annotations

from pullcall.events import CallKind


def pull_soon(steak: str, in_s: float) -> str:
    """A pull coming up."""
    return f"{_name(steak)}: pull in about {in_s:.0f}"


def pull_now(steak: str) -> str:
    """The pull is due."""
    return f"{_name(steak)}: pull now"


def over(steak: str) -> str:
    """The core went past the pull temperature with the steak still on."""
    return f"{_name(steak)}: over, take it off"


def planned(kind: CallKind, steaks: tuple[str, ...], in_s: float) -> str:
    """A turn or flip; several steaks are "both" or "all"."""
    verb = {CallKind.TURN: "Turn", CallKind.FLIP: "Flip"}[kind]
    when = f"in {in_s:.0f}" if in_s > 0 else "now"
    return f"{verb} {_names(steaks)} {when}"


def probe_lost(steak: str) -> str:
    """No reading comes from the probe any more."""
    return f"{_name(steak)}: no probe reading, tap in a spot"


def _name(steak: str) -> str:
    return steak[:1].upper() + steak[1:]


def _names(steaks: tuple[str, ...]) -> str:
    if len(steaks) == 1:
        return steaks[0]
    return "both" if len(steaks) == 2 else "all"
