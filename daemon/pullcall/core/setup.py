"""The settings of a cook as a whole, as they stand: those it started with, and what changed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from types import MappingProxyType

from pullcall.core.channel import check_channel
from pullcall.core.ranges import GRATE_C
from pullcall.errors import RefusedError, UnknownNameError
from pullcall.events import CarryOver, CookHeader, FireSettings, Range, Setting, Window
from pullcall.plan.steps import NAMES
from pullcall.plan.wall import window_span

Value = float | str | None
#: The longest that one step can take, seconds.
_LONGEST_STEP_S = 24 * 3600.0


def changed_setup(setup: CookHeader, setting: Setting) -> CookHeader:
    """``setup`` with one setting of the cook changed.

    Raises UnknownNameError for one that a cook does not have and RefusedError for a value that
    nobody means; each says what to do.
    """
    name, value = setting.name, setting.value
    if name.startswith("durations."):
        return _with_duration(setup, name.removeprefix("durations."), value)
    change = _CHANGES.get(name)
    if change is None:
        names = ", ".join((*_CHANGES, "durations.<step>"))
        raise UnknownNameError(f"A cook has no setting {name!r}: it has {names}.")
    return change(setup, value)


def window_of(setup: CookHeader) -> tuple[float, float] | None:
    """When the turn-in window opens and closes, cook seconds; None where there is none, or
    where the log does not say when the cook started."""
    if setup.window is None:
        return None
    try:
        return window_span(setup.window, datetime.fromisoformat(setup.started))
    except (ValueError, TypeError):
        return None


def window_text(window: Window | None) -> str | None:
    """A window as the value of a setting: an ISO 8601 interval."""
    return None if window is None else f"{window.opens}/{window.closes}"


def range_text(range_: Range) -> str:
    """A duration as the value of a setting: seconds, shortest/longest."""
    return f"{range_.low_s:g}/{range_.high_s:g}"


def _rest_on(setup: CookHeader, value: Value) -> CookHeader:
    return replace(setup, rest_on=_one_of(value, "rest_on", ("rack", "board")))


def _carry_over(setup: CookHeader, value: Value) -> CookHeader:
    return replace(setup, carry_over=CarryOver(_one_of(value, "carry_over", tuple(CarryOver))))


def _window(setup: CookHeader, value: Value) -> CookHeader:
    if value is None:
        return replace(setup, window=None)
    opens, _, closes = str(value).partition("/")
    window = Window(opens, closes)
    try:
        window_span(window, datetime.fromisoformat(setup.started))
    except (ValueError, TypeError) as exc:
        raise RefusedError(f"That is no turn-in window: {exc}.") from exc
    return replace(setup, window=window)


def _started(setup: CookHeader, value: Value) -> CookHeader:
    """The wall time of the cook's zero, once the clock on the wall is known better."""
    try:
        moment = datetime.fromisoformat(str(value))
    except ValueError as exc:
        raise RefusedError("started must be an ISO 8601 time with an offset from UTC.") from exc
    if moment.tzinfo is None:
        raise RefusedError("started must be an ISO 8601 time with an offset from UTC.")
    return replace(setup, started=str(value))


def _aim_share(setup: CookHeader, value: Value) -> CookHeader:
    return replace(setup, aim_share=_within(value, "aim_share", (0.0, 1.0)))


def _offset(setup: CookHeader, value: Value) -> CookHeader:
    return replace(setup, offset_s=_within(value, "offset_s", (0.0, 1800.0)))


def _grate_channel(setup: CookHeader, value: Value) -> CookHeader:
    check_channel(value)
    channel = None if value is None else str(value)
    return replace(setup, fire=replace(setup.fire, channel=channel))


def _fire_floor(setup: CookHeader, value: Value) -> CookHeader:
    return _with_fire(setup, replace(setup.fire, floor_c=_within(value, "fire_floor_c", GRATE_C)))


def _fire_ceiling(setup: CookHeader, value: Value) -> CookHeader:
    high = _within(value, "fire_ceiling_c", GRATE_C)
    return _with_fire(setup, replace(setup.fire, ceiling_c=high))


def _with_fire(setup: CookHeader, fire: FireSettings) -> CookHeader:
    if fire.floor_c >= fire.ceiling_c:
        raise RefusedError("The fire's floor must lie below its ceiling.")
    return replace(setup, fire=fire)


def _with_duration(setup: CookHeader, step: str, value: Value) -> CookHeader:
    """A step's own duration; None goes back to the default."""
    if step not in NAMES:
        raise UnknownNameError(f"The plan has no step {step!r}: it has {', '.join(NAMES)}.")
    own = {name: range_ for name, range_ in setup.durations.items() if name != step}
    if value is not None:
        own[step] = _range(value)
    return replace(setup, durations=MappingProxyType(own))


def _range(value: Value) -> Range:
    try:
        low, _, high = str(value).partition("/")
        range_ = Range(float(low), float(high or low))
    except ValueError as exc:
        raise RefusedError("A duration is shortest/longest in seconds, such as 420/600.") from exc
    if not 0.0 <= range_.low_s <= range_.high_s <= _LONGEST_STEP_S:
        raise RefusedError("A duration goes from the shortest to the longest, at most a day.")
    return range_


def _one_of(value: Value, name: str, choices: tuple[str, ...]) -> str:
    if value not in choices:
        raise RefusedError(f"{name} is one of: {', '.join(choices)}.")
    return str(value)


def _within(value: Value, name: str, bounds: tuple[float, float]) -> float:
    low, high = bounds
    if not isinstance(value, float | int) or not low <= value <= high:
        raise RefusedError(f"{name} must lie between {low:g} and {high:g}.")
    return float(value)


_CHANGES: dict[str, Callable[[CookHeader, Value], CookHeader]] = {
    "rest_on": _rest_on,
    "carry_over": _carry_over,
    "window": _window,
    "started": _started,
    "aim_share": _aim_share,
    "offset_s": _offset,
    "grate_channel": _grate_channel,
    "fire_floor_c": _fire_floor,
    "fire_ceiling_c": _fire_ceiling,
}
