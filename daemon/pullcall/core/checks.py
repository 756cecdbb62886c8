"""Whether an input from a person can be taken; a refusal is a sentence that says what to do."""

from __future__ import annotations

from collections.abc import Iterable

from pullcall.core.channel import check_channel
from pullcall.core.history import History
from pullcall.core.phase import Phase
from pullcall.core.ranges import SETTING_RANGES
from pullcall.core.setup import changed_setup
from pullcall.core.steak import SteakState
from pullcall.degrees import celsius_to_fahrenheit
from pullcall.errors import RefusedError, UnknownNameError
from pullcall.events import (
    GRILL_MARKS,
    CookHeader,
    Mark,
    MarkKind,
    Proposal,
    PullBy,
    Setting,
    Spot,
    Undo,
)

#: What a hand-held thermometer in the middle of a steak can show, Celsius: from hard frozen to
#: where its water boils, 100, with 5 for the thermometer; hotter is crust, grate or another unit.
SPOT_RANGE_C = (-30.0, 105.0)
#: What an infrared thermometer can show of a grate, Celsius: from a winter's day to bright red.
GRATE_RANGE_C = (-30.0, 900.0)
#: The longest note of a steak's looks, characters.
_LONGEST_LOOK = 200
_PHASE_WORDS = {
    Phase.WAITING: "not on the grill yet",
    Phase.ON: "still on the grill",
    Phase.RESTING: "off and resting",
    Phase.BOXED: "already boxed",
    Phase.HANDED_IN: "already handed in",
}
_MARK_WORDS = {
    MarkKind.ON: "put on",
    MarkKind.TURN: "turned",
    MarkKind.FLIP: "flipped",
    MarkKind.BASTE: "basted",
    MarkKind.OFF: "taken off",
    MarkKind.BOXED: "boxed",
    MarkKind.HANDED_IN: "handed in",
}
#: A mark can be entered this late, seconds.
LONGEST_BACKDATE_S = 3600.0


def check_mark(mark: Mark, steaks: dict[str, SteakState]) -> None:
    """Raise RefusedError for a mark out of order or out of time."""
    if mark.at is not None and not mark.t - LONGEST_BACKDATE_S <= mark.at <= mark.t:
        raise RefusedError("A mark can be dated back by up to an hour, and not into the future.")
    if mark.mark in GRILL_MARKS:
        if mark.steak is not None:
            raise RefusedError("The lid belongs to the grill: send this mark without a steak.")
        return
    meant = list(steaks.values()) if mark.steak is None else [known(mark.steak, steaks)]
    if not any(steak.allows(mark.mark) for steak in meant):
        raise RefusedError(_out_of_order(mark.mark, meant[0]))


def check_backdate(mark: Mark, header: CookHeader, history: History) -> None:
    """Raise RefusedError where a mark dated back would make it or a later mark nonsense."""
    standing = history.marks()
    dated = tuple(sorted((*standing, mark), key=lambda m: m.happened))
    if _misfits(dated, header) > _misfits(standing, header):
        raise RefusedError(
            "At that time this mark does not fit the marks around it: give a later time, or undo "
            "the mark that is wrong."
        )


def _misfits(marks: tuple[Mark, ...], header: CookHeader) -> int:
    """How often a mark of this series finds no steak that it fits."""
    steaks = [SteakState(settings, header.plan) for settings in header.steaks]
    count = 0
    for mark in marks:
        fitted = [s.mark(mark) for s in steaks if mark.steak in (None, s.name)]
        count += mark.mark not in GRILL_MARKS and not any(fitted)
    return count


def check_spot(spot: Spot, steaks: dict[str, SteakState]) -> None:
    """Raise RefusedError for a spot that no steak, or no grate, can have."""
    if spot.steak is not None:
        known(spot.steak, steaks)
    low, high = GRATE_RANGE_C if spot.steak is None else SPOT_RANGE_C
    if not low <= spot.celsius <= high:
        place = "a grate" if spot.steak is None else "the middle of a steak"
        low_f, high_f = celsius_to_fahrenheit(low), celsius_to_fahrenheit(high)
        raise RefusedError(
            f"{spot.celsius:g} C ({celsius_to_fahrenheit(spot.celsius):g} F) is not a temperature "
            f"of {place}: check the number and its unit, {low:g} to {high:g} C ({low_f:g} to "
            f"{high_f:g} F) is taken."
        )


def check_setting(setting: Setting, steaks: dict[str, SteakState], setup: CookHeader) -> None:
    """Raise RefusedError for a setting nobody has or a value nobody means."""
    if setting.steak is None:
        changed_setup(setup, setting)
        return
    steak = known(setting.steak, steaks)
    if setting.name in _TEXTS:
        _TEXTS[setting.name](setting.value)
        if setting.value == PullBy.TARGET and steak.settings.target_c is None:
            raise RefusedError("There is no target to aim the pull at: set the target first.")
        return
    if setting.name not in SETTING_RANGES:
        names = ", ".join((*SETTING_RANGES, *_TEXTS))
        raise UnknownNameError(f"A steak has no setting {setting.name!r}: it has {names}.")
    if setting.value is None and setting.name == "target_c":
        if steak.settings.pull_by is PullBy.TARGET:
            raise RefusedError("The pull is aimed at the target: aim at a pull temperature first.")
        return
    low, high = SETTING_RANGES[setting.name]
    if not isinstance(setting.value, float) or not low <= setting.value <= high:
        raise RefusedError(f"{setting.name} must lie between {low:g} and {high:g}.")


def _check_pull_by(value: object) -> None:
    if value not in tuple(PullBy):
        raise RefusedError(f"pull_by is one of: {', '.join(PullBy)}.")


def _check_look(value: object) -> None:
    fits = isinstance(value, str) and len(value) <= _LONGEST_LOOK
    if value is not None and not (fits and str(value).isprintable()):
        raise RefusedError(f"A note of the looks is one line of up to {_LONGEST_LOOK} characters.")


_TEXTS = {"channel": check_channel, "pull_by": _check_pull_by, "look": _check_look}


def check_undo(undo: Undo, history: History) -> None:
    """Raise UnknownNameError where there is nothing to take back."""
    if not history.can_undo(undo.id):
        raise UnknownNameError("That mark or spot is not there any more: it may be undone already.")


def proposed(id: str, standing: Iterable[Proposal]) -> Proposal:
    """The standing proposal of this id. Raises UnknownNameError."""
    found = next((proposal for proposal in standing if proposal.id == id), None)
    if found is None:
        raise UnknownNameError("That proposal is over: mark it yourself if it is so.")
    return found


def known(name: str, steaks: dict[str, SteakState]) -> SteakState:
    """The steak of this name. Raises UnknownNameError."""
    if name not in steaks:
        raise UnknownNameError(f"There is no steak {name!r} in this cook: {', '.join(steaks)}.")
    return steaks[name]


def _out_of_order(kind: MarkKind, steak: SteakState) -> str:
    name, now = steak.name.capitalize(), _PHASE_WORDS[steak.phase]
    first = {Phase.WAITING: "mark it on first", Phase.ON: "mark it off first"}
    advice = first.get(steak.phase, "undo the earlier mark if that one was wrong")
    return f"{name} cannot be {_MARK_WORDS[kind]}, it is {now}: {advice}."
