"""What a watcher without targets is told."""

from __future__ import annotations

import json
from typing import Any

import pytest

from pullcall.api.sight.strip import stripped

TELLING = ("pull_c", "target_c", "aim_c", "shift_c", "pull_by", "pull_in_s", "peak_c", "peak_in_s")
FORECAST = {
    "t": 500.0,
    "steak": "left",
    "pull_in_s": {"p10": 30, "p50": 40, "p90": 50},
    "peak_c": {"p10": 56, "p50": 57, "p90": 58},
    "core_c": 51.0,
    "rise_c_per_min": 4.0,
    "aim_c": 53.1,
    "peak_in_s": 90,
    "note": "pull at 53.9",
    "why": "pull at 53.9",
}
STEAK = {
    "steak": "left",
    "phase": "on",
    "on_t": 1.0,
    "off_t": None,
    "pull_c": 53.9,
    "target_c": 57.0,
    "pull_by": "target",
    "shift_c": 0.5,
    "look": "thick end",
    "channel": "AA/1",
    "reading": {"t": 499.0, "celsius": 50.9},
    "forecast": FORECAST,
    "next": None,
}
PULL = {"call": "pull_soon", "text": "Left: pull in 40", "steaks": ["left"], "due_t": 540}
FLIP = {"call": "flip", "text": "Left: flip", "steaks": ["left"], "due_t": 240}
SNAPSHOT: dict[str, Any] = {
    "type": "snapshot",
    "epoch": "e",
    "seq": 7,
    "t": 500.0,
    "wall": "…",
    "speed": 1,
    "mode": "live",
    "ends_t": None,
    "unit": "F",
    "banner": "pull at 53.9",
    "cook": {"id": "c", "started": "…", "carry_over": "forecast", "fire": {"floor_c": 260}},
    "steaks": [{**STEAK, "curve": [[499.0, 50.9]]}],
    "marks": [],
    "spots": [],
    "calls": [PULL, FLIP],
    "schedule": [PULL, FLIP],
    "probes": [{"channel": "AA/1"}],
    "adapter": {"name": "hci0"},
    "fire": {"celsius": 280},
    "plan": {"advice": ["pull at 53.9"]},
    "proposals": [{"why": "pull at 53.9"}],
    "readiness": [{"words": "pull at 53.9"}],
    "outlets": [{"note": "pull at 53.9"}],
}


def test_a_snapshot_tells_no_target_and_no_forecast_of_pull_or_peak() -> None:
    told = stripped(SNAPSHOT)
    text = json.dumps(told)
    assert [name for name in TELLING if f'"{name}"' in text] == []
    assert "53.9" not in text
    assert "pull in 40" not in text


def test_what_everybody_at_the_grill_sees_stays() -> None:
    told = stripped(SNAPSHOT)
    assert told is not None
    steak = told["steaks"][0]
    assert (steak["phase"], steak["reading"]["celsius"]) == ("on", 50.9)
    assert (steak["forecast"]["core_c"], steak["forecast"]["rise_c_per_min"]) == (51.0, 4.0)
    assert steak["curve"] == [[499.0, 50.9]]
    assert [call["call"] for call in told["calls"]] == ["flip"]


@pytest.mark.parametrize(
    "message",
    [
        {"type": "forecast", "seq": 8, **FORECAST},
        {"type": "steak", "seq": 8, **STEAK},
        {"type": "schedule", "seq": 8, "calls": [PULL]},
        {"type": "call", "seq": 8, **PULL},
        {"type": "setting", "seq": 8, "name": "pull_c", "value": 53.9},
        {"type": "plan", "seq": 8, "plan": {"advice": ["pull at 53.9"]}},
        {"type": "site", "seq": 8, "readiness": [{"words": "pull at 53.9"}]},
        {"type": "a kind that comes later", "seq": 8, "pull_c": 53.9},
    ],
    ids=lambda message: str(message["type"]),
)
def test_no_message_tells_a_target(message: dict[str, Any]) -> None:
    text = json.dumps(stripped(message))
    assert [name for name in TELLING if f'"{name}"' in text] == []
    assert "53.9" not in text
    assert "pull in 40" not in text


def test_readings_and_marks_pass_as_they_are() -> None:
    for message in (
        {"type": "reading", "seq": 8, "steak": "left", "celsius": 50.9},
        {"type": "mark", "seq": 9, "mark": "flip", "steak": "left"},
        {"type": "tick", "t": 1.0},
    ):
        assert stripped(message) == message
