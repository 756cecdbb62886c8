"""Invented cooks of a scripted logbook, with what was worked out of one and what all taught."""

from __future__ import annotations

from typing import Any

Body = dict[str, Any]


def steak(name: str, pull_c: float, off_c: float | None, peak_c: float | None, **more: Any) -> Body:
    """A steak of a row."""
    return {"steak": name, "thickness_mm": 32.0, "weight_g": None, "start_c": 5.0, "pull_c": pull_c,
            "off_c": off_c, "peak_c": peak_c, "on_grate_s": 560, "notes": "", **more}  # fmt: skip


def row(cook: str, started: str, ended: str | None, *steaks: Body, **more: Any) -> Body:
    """A cook of the list."""
    return {"cook": cook, "started": started, "ended": ended,
            "running": False, "over": True, "simulated": False,
            "place": "", "contest": "", "tags": [], "scores": {}, "photos": [], "notes": "",
            "handed_in": None, "hand_in_wall": None, "in_window": None, "fire_c": 287.0,
            "rest_on": "rack", "steaks": list(steaks), **more}  # fmt: skip


def rows() -> list[Body]:
    """The latest last."""
    return [
        row("c1", "2026-05-09T11:20:00Z", "2026-05-09T12:10:00Z",
            steak("left", 53.9, 54.1, 56.2), steak("right", 53.9, 53.4, None),
            contest="Willow Creek Spring Steak", place="Willow Creek", tags=["first"],
            scores={"taste": 7.5, "texture": 8, "look": "B+"}, handed_in="left",
            hand_in_wall="2026-05-09T12:04:00Z", in_window=False),
        row("c2", "2026-06-06T12:00:00Z", "2026-06-06T12:51:00Z",
            steak("left", 53.9, 54.3, 57.1, weight_g=480, notes="thick end to the fire"),
            steak("right", 53.9, 54.0, 56.8),
            contest="Harbour Ribeye Cup", place="the pier at Eastmoor", tags=["windy", "new grate"],
            scores={"taste": 8.5, "texture": 9}, notes="Coal lit <b>late</b>", handed_in="right",
            hand_in_wall="2026-06-06T12:43:00Z", in_window=True),
        row("c3", "2026-06-10T17:05:00Z", "2026-06-10T17:50:00Z",
            steak("left", 54.4, 54.6, 57.3), simulated=True),
        row("c4", "2026-06-13T13:40:00Z", None,
            steak("left", 53.9, None, None), steak("right", 53.9, None, None),
            running=True, over=False),
    ]  # fmt: skip


def notes_of(one: Body) -> list[Body]:
    """What stands in the log behind a row."""
    names = ("place", "contest", "tags", "notes", "handed_in")
    own = [{"steak": None, "name": name, "value": one[name]} for name in names if one[name]]
    scores = [
        {"steak": None, "name": f"score.{name}", "value": v} for name, v in one["scores"].items()
    ]
    steaks = [
        {"steak": each["steak"], "name": name, "value": each[name]}
        for each in one["steaks"]
        for name in ("weight_g", "notes")
        if each[name]
    ]
    return own + scores + steaks


def _lead(lead_s: float, p50: float, truth: float, half: float) -> Body:
    return {"lead_s": lead_s, "t": 500 - truth, "true_in_s": truth, "crps_s": 2.0,
            "pull_in_s": {"p10": p50 - half, "p50": p50, "p90": p50 + half},
            "interval_s": 20.0}  # fmt: skip


def _steak_facts(name: str, on_t: float, off_c: float, peak_c: float, now_t: float | None) -> Body:
    return {"steak": name, "on_t": on_t, "off_t": on_t + 560, "off_c": off_c, "peak_c": peak_c,
            "pull_c": 53.9, "now_t": now_t, "notes": [],
            "climb_told_c": {"p10": 2.1, "p50": 2.8, "p90": 3.6},
            "leads": [_lead(300, 312, 300, 40), _lead(180, 176, 180, 22), _lead(60, 60, 60, 9),
                      _lead(30, 41, 30, 5)]}  # fmt: skip


def facts() -> Body:
    """As worked out of the second cook."""
    return {"cook": "c2", "ends_t": 3060.0, "as_called": True,
            "fire": {"at_on_c": 287.0, "low_c": 262.0, "high_c": 290.0, "mean_c": 275.0},
            "steaks": [_steak_facts("left", 0, 54.3, 57.1, 554),
                       _steak_facts("right", 25, 54.0, 56.8, 590)]}  # fmt: skip


def lessons() -> list[Body]:
    """Two that were learned, one of which is not in use, one of one's own and one not learned."""
    common = {"mode": "learned", "own": None, "cooks": 2}
    return [
        {**common, "name": "heat_up", "label": "Heating the grate", "unit": "s", "default": 1200,
         "learned": 1350, "own": 1500, "in_force": 1500, "mode": "own", "least": 120, "most": 5400,
         "words": "from your 2 cooks: 22.5 min, your own 25.0 min, default 20.0 min",
         "why": "From the coal poured until the grate was over its floor.",
         "evidence": [{"cook": "c2", "steak": None, "value": 1400, "weight": 0.7}]},
        {**common, "name": "reaction", "label": "From the call to off", "unit": "s", "default": 5,
         "learned": 8.2, "in_force": 8.2, "least": 0, "most": 30,
         "words": "from your 2 cooks: 8.2 s, default 5.0 s",
         "why": "Pull now is called so much earlier.",
         "evidence": [{"cook": "c2", "steak": "left", "value": 6, "weight": 1.0}]},
        {**common, "name": "carry_over", "label": "Carry-over", "unit": "C", "default": 2.8,
         "learned": 2.6, "in_force": 2.8, "mode": "default", "least": 0.0, "most": 8.0,
         "words": "from your 2 cooks: 4.7 F, not in use, default 5.0 F",
         "why": "How far a core climbs after it is off. The measured climbs, each with its weight.",
         "evidence": [{"cook": "c1", "steak": "left", "value": 2.1, "weight": 0.5},
                      {"cook": "c2", "steak": "left", "value": 2.8, "weight": 0.8}]},
        {**common, "name": "grill", "label": "The grill", "unit": "", "default": 250.0,
         "learned": None, "in_force": 250.0, "least": 100.0, "most": 500.0, "cooks": 0,
         "words": "nothing from your cooks yet, default 482 F", "why": "How fast the core warms.",
         "evidence": []},
    ]  # fmt: skip


HINDSIGHT = [
    {"label": "Bands", "words": "The pull came inside its band 7 times of 8."},
    {"label": "Last minute", "words": "2.1 s off in the middle, one minute before the pull."},
]
COMPARED = [
    {"label": "score, taste", "unit": "", "values": [7.5, 8.5]},
    {"label": "grate as the first went on", "unit": "F", "values": [None, 549]},
    {"label": "left: core at off", "unit": "F", "values": [129.4, 129.7]},
    {"label": "left: on the grate", "unit": "s", "values": [560, 546]},
    {"label": "left: from the call to off", "unit": "s", "values": [11, 6]},
]
DIFFERED = ["Left: on the grate: A 9:20, B 9:06."]
CHART = """<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 600 320" font-family="sans-serif">
<rect width="600" height="320" fill="#fff"/><path d="M40 20V290H590" fill="none" stroke="#14121a"/>
<path d="M40 280C140 270 300 130 420 70S560 40 590 60" fill="none" stroke="#1c2f96" stroke-width="4"
/><path d="M40 282C160 276 320 160 440 90S570 55 590 70" fill="none" stroke="#7c0f52"
stroke-width="4" stroke-dasharray="10 5"/></svg>"""
