"""Figures of the plan as people read them."""

from __future__ import annotations


def percent(share: float) -> str:
    """A chance in words: never "100 %" or "0 %" for what was only estimated."""
    if share > 0.99:
        return "over 99 %"
    if share < 0.01:
        return "under 1 %"
    return f"{100.0 * share:.0f} %"


def span(seconds: float) -> str:
    """A time span in whole minutes, rounded down: "6 min", "1 h 13 min"."""
    hours, minutes = divmod(int(abs(seconds) // 60.0), 60)
    return f"{hours} h {minutes} min" if hours else f"{minutes} min"
