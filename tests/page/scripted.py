"""A plan, a fire and a readiness list as a site sends them: invented, for trying the page.

The fake cook began at 13:40 UTC; its window is 14:00 to 14:30, so cook seconds 1200 to 3000.
"""

from __future__ import annotations

from typing import Any


def step(
    name: str, label: str, begin_t: float, latest_t: float, steak: str | None = None, **more: Any
) -> dict[str, Any]:
    """One step of a plan."""
    return {"name": name, "steak": steak, "label": label, "begin_t": begin_t, "latest_t": latest_t,
            "low_s": 120, "high_s": 240, "critical": False, "asks": True, "done_t": None,
            **more}  # fmt: skip


PLAN_NOW: dict[str, Any] = {
    "t": 10,
    "steps": [
        step("season", "Season the steaks", -2400, -1900, done_t=-2300),
        step("cold", "Keep the steaks cold", -1800, -1300, asks=False, done_t=-2300),
        step("light", "Light the chimney", -1200, -700, done_t=-1250),
        step("pour", "Pour the coal", 60, 420, critical=True),
        step("heat_up", "Heat the grate", 180, 600, critical=True, asks=False),
        step("fetch", "Fetch the steaks", 480, 840),
        step("cook", "Put left on", 600, 960, "left", critical=True),
        step("cook", "Put right on", 625, 985, "right"),
        step("rest", "Rest left", 1200, 1600, "left", asks=False),
        step("rest", "Rest right", 1225, 1625, "right", asks=False),
        step("box", "Box it", 1700, 2500),
        step("walk", "Walk to turn-in", 1820, 2700),
        step("hand_in", "Hand in", 2000, 3000),
    ],
    "chance": 0.92,
    "as_planned": 0.92,
    "choice": 0.9,
    "slack_s": 380,
    "last_on_t": {"left": 960, "right": 985},
    "hand_in_t": {"p10": 1900, "p50": 2000, "p90": 2200},
    "gap_s": {"p10": -60, "p50": 12, "p90": 84},
    "offset": {"offset_s": 40, "gap_s": {"p10": -20, "p50": 52, "p90": 124}, "apart": 0.81},
    "advice": ["Pour the coal now: 92 %, two minutes later 84 %."],
}
FIRE: dict[str, Any] = {
    "celsius": 285,
    "trend_c_per_min": -2.1,
    "floor_in_s": 720,
    "age_s": 0,
    "state": "ready",
}
UNREADY: list[dict[str, Any]] = [
    {"name": "heard", "ok": False, "celsius": None,
     "words": "Nobody would hear a call: tap to hear calls on a phone, or connect a speaker"},
    {"name": "probe left", "ok": True, "words": "Left: probe live", "celsius": None},
    {"name": "fire", "ok": True, "words": "Fire: the grate is hot", "celsius": 285.0},
]  # fmt: skip
