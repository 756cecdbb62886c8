"""What a lesson is made from: the cook's choice for it, the figures, and which is in force."""

from __future__ import annotations

from collections.abc import Sequence

from pullcall.learning.choice import Choice, Mode

#: What was learned is in force until the cook chooses otherwise.
USUAL_MODE = Mode.LEARNED


def chosen(name: str, choices: Sequence[Choice]) -> Choice:
    """What stands for a lesson: the latest choice, or the usual one."""
    own = [choice for choice in choices if choice.name == name]
    return max(own, key=lambda choice: choice.wall, default=Choice("", name, USUAL_MODE))


def in_force(choice: Choice, default: float, learned: float | None) -> float:
    """The figure of the chosen mode; the default where that mode has none."""
    if choice.mode is Mode.LEARNED and learned is not None:
        return learned
    if choice.mode is Mode.OWN and choice.value is not None:
        return choice.value
    return default
