"""The lines of the forecast and call streams."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from pullcall.events import Call, Forecast


def call_record(call: Call) -> dict[str, Any]:
    """One announcement; ``steak`` is a name, a list of names for twins, or null."""
    steak: str | list[str] | None = list(call.steaks) or None
    if len(call.steaks) == 1:
        steak = call.steaks[0]
    record: dict[str, Any] = {
        "t": call.t,
        "steak": steak,
        "call": str(call.call),
        "in_s": call.in_s,
        "priority": call.priority,
        "text": call.text,
        "id": call.id,
    }
    if call.insistent:
        record["insistent"] = True
    return record


def forecast_record(forecast: Forecast) -> dict[str, Any]:
    """One forecast; what says nothing is left out, but for the pull and the peak."""
    always = ("t", "steak", "pull_in_s", "peak_c")
    record = asdict(forecast)
    return {key: value for key, value in record.items() if key in always or value is not None}
