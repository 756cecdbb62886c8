"""What a person can mean by the settings of a cook and its steaks."""

from __future__ import annotations

#: Temperatures of a fire's floor and ceiling, Celsius.
GRATE_C = (100.0, 600.0)
#: Settings of a steak that can change while it cooks, with the range a person can mean.
SETTING_RANGES = {
    "pull_c": (30.0, 90.0),
    "target_c": (30.0, 95.0),
    "thickness_mm": (5.0, 120.0),
    "start_c": (-30.0, 40.0),
    "shift_c": (-5.0, 5.0),
}


def is_meant(name: str, value: float) -> bool:
    """Whether a setting of this name may have this value."""
    low, high = SETTING_RANGES[name]
    return low <= value <= high
