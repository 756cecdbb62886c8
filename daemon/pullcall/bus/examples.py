"""An invented message of each channel, for readers of the AsyncAPI file."""

from __future__ import annotations

from typing import Any

Json = dict[str, Any]

_TURN: Json = {"mark": "turn", "due_t": 331.2}
_PULL_SOON: Json = {
    "id": "c8",
    "t": 480.0,
    "steaks": ["left"],
    "call": "pull_soon",
    "in_s": 40.0,
    "priority": 1,
    "text": "Left: pull in about 40",
    "insistent": False,
    "state": "unacknowledged",
}
_STEAK: Json = {
    "steak": "left",
    "phase": "on",
    "on_t": 1.2,
    "off_t": None,
    "thickness_mm": 32.0,
    "start_c": 6.5,
    "pull_c": 53.9,
    "target_c": 57.0,
    "channel": "AA:BB:CC:DD:EE:01/1",
    "pull_by": "temperature",
    "shift_c": 0.0,
    "look": "",
    "next": _TURN,
}
_FORECAST: Json = {
    "t": 480.0,
    "steak": "left",
    "pull_in_s": {"p10": 31.0, "p50": 40.5, "p90": 52.0},
    "peak_c": {"p10": 56.1, "p50": 57.0, "p90": 58.2},
    "core_c": 48.91,
    "rise_c_per_min": 7.2,
    "rise_window_s": 24.1,
    "pull_c": 53.9,
}
_COOK: Json = {
    "id": "20260613-1340",
    "started": "2026-06-13T13:40:00Z",
    "steaks": ["left", "right"],
    "rest_on": "rack",
    "carry_over": "forecast",
    "plan": [{"t": 120.0, "mark": "turn"}, {"t": 240.0, "mark": "flip"}],
    "window": {"opens": "2026-06-13T14:00:00Z", "closes": "2026-06-13T14:30:00Z"},
    "window_t": [1200.0, 3000.0],
    "aim_share": 0.33,
    "offset_s": 0.0,
    "durations": {"walk": {"low_s": 120.0, "high_s": 240.0}},
    "fire": {"channel": None, "floor_c": 260.0, "ceiling_c": 398.9},
    "simulated": True,
}
_PLAN: Json = {
    "t": 480.0,
    "steps": [
        {
            "name": "walk",
            "steak": None,
            "label": "Walk to the judges",
            "begin_t": 1380.0,
            "latest_t": 2760.0,
            "low_s": 120.0,
            "high_s": 240.0,
            "critical": True,
            "asks": True,
            "done_t": None,
        }
    ],
    "chance": 0.97,
    "as_planned": 0.97,
    "choice": None,
    "slack_s": 1380.0,
    "last_on_t": {},
    "hand_in_t": {"p10": 1510.0, "p50": 1560.0, "p90": 1640.0},
    "gap_s": None,
    "offset": None,
    "advice": [],
}
_PROBE: Json = {
    "channel": "AA:BB:CC:DD:EE:01/1",
    "device": "AA:BB:CC:DD:EE:01",
    "name": "left steak",
    "standard": "Health Thermometer",
    "state": "streaming",
    "celsius": 48.9,
    "battery_percent": 88,
    "rssi_dbm": -61,
    "age_s": 0.4,
    "attempts": 1,
    "refused": 0,
    "note": "",
    "steak": "left",
    "is_grate": False,
}
_PROPOSAL: Json = {
    "id": "off/left/505",
    "t": 512.0,
    "steak": "left",
    "mark": "off",
    "happened": 505.0,
    "confirm_t": None,
    "why": "it stopped warming",
}

#: By the channel's name.
EXAMPLES: dict[str, list[Json]] = {
    "presence": [{"state": "here", "name": "North grill", "version": "0.1.0"}, {"state": "lost"}],
    "pulse": [
        {"t": 480.2, "wall": "2026-06-13T13:48:00Z", "speed": 1.0, "mode": "live", "unit": "F"}
    ],
    "cook": [_COOK],
    "steak": [_STEAK],
    "reading": [{"t": 480.1, "celsius": 48.9}],
    "forecast": [_FORECAST],
    "curve": [{"points": [[470.1, 47.6], [480.1, 48.9]]}],
    "deeds": [
        {
            "marks": [{"id": "a1b2", "t": 1.2, "at": None, "steak": "left", "mark": "on"}],
            "spots": [{"id": "c3d4", "t": 300.0, "steak": None, "celsius": 285.0}],
        }
    ],
    "calls": [{"calls": [_PULL_SOON]}],
    "schedule": [
        {
            "calls": [
                {
                    "steaks": ["left"],
                    "call": "pull_now",
                    "due_t": 520.0,
                    "text": "Left: pull now",
                    "priority": 1,
                }
            ]
        }
    ],
    "plan": [{"plan": _PLAN}, {"plan": None}],
    "grate": [
        {
            "fire": {
                "celsius": 287.0,
                "trend_c_per_min": -1.5,
                "floor_in_s": 1080.0,
                "age_s": 1.1,
                "state": "ready",
            }
        },
        {"fire": None},
    ],
    "proposals": [{"proposals": [_PROPOSAL]}],
    "probes": [
        {"probes": [_PROBE], "adapter": {"name": "hci0", "state": "ok", "note": ""}},
    ],
    "around": [
        {
            "readiness": [
                {"name": "fire", "ok": True, "words": "Fire: the grate is hot", "celsius": 287.0}
            ],
            "outlets": [{"name": "phones", "kind": "phones", "state": "ok", "note": ""}],
        }
    ],
    "call": [_PULL_SOON],
    "record": [
        {"record": "reading", "t": 480.1, "steak": "left", "celsius": 48.9, "channel": "x/1"},
        {"record": "mark", "t": 1.2, "steak": "left", "mark": "on", "id": "a1b2"},
        {"record": "reached", "t": 481.0},
    ],
}
