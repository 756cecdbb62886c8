"""How long a cook takes from "pull now" to off, and what is called when for it. Seconds."""

from __future__ import annotations

from pullcall.calls.rules import (
    HEARD_AFTER_S,
    LONGEST_REACTION_S,
    NOW_S,
    PULL_LEADS_S,
    VOICE_GAP_S,
)


def now_at_s(reaction_s: float) -> float:
    """What is left when "pull now" comes for a cook who needs ``reaction_s``."""
    return max(NOW_S, min(reaction_s, LONGEST_REACTION_S) + HEARD_AFTER_S)


def earlier_s(reaction_s: float) -> float:
    """How much earlier than usual that is; nothing for a quick cook."""
    return now_at_s(reaction_s) - NOW_S


def allowed_s(reaction_s: float) -> float:
    """From "pull now" so called to the crossing."""
    return now_at_s(reaction_s) - HEARD_AFTER_S


def leads_s(reaction_s: float) -> tuple[float, ...]:
    """What is announced ahead, first to last; what "pull now" would talk into is left out."""
    return tuple(s for s in PULL_LEADS_S if s >= now_at_s(reaction_s) + VOICE_GAP_S)
