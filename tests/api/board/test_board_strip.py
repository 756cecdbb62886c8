"""Rows without targets: neither a field, nor an alarm's urgency, nor the order tells of a pull."""

from __future__ import annotations

from typing import Any

import pytest

from pullcall.api.board.strip import stripped

Json = dict[str, Any]
ALARM = {"steaks": ["left"], "state": "unacknowledged", "since_t": 90.0}


def row(site: str, **more: Any) -> Json:
    """A row with everything in it, as docs/stream.md has it, and a field of a later version."""
    return {
        "site": site,
        "name": site,
        "state": "here",
        "heard_t": 99.0,
        "stage": "cooking",
        "simulated": False,
        "speed": 1.0,
        "alarm": None,
        "next": {"call": "turn", "steaks": [], "due_t": 130.0, "text": "Turn", "priority": 2},
        "window": {"opens_t": 500.0, "closes_t": 800.0},
        "steaks": [
            {
                "steak": "left",
                "phase": "on",
                "celsius": 48.9,
                "reading_t": 99.0,
                "pull_c": 53.9,
                "pull_t": {"p10": 110.0, "p50": 120.0, "p90": 130.0},
                "target_c": 57.0,
            }
        ],
        "chance": 0.9,
        **more,
    }


def alarm(call: str, priority: int = 1) -> Json:
    return {**ALARM, "call": call, "priority": priority, "text": "words"}


def sites(rows: list[Json]) -> list[str]:
    return [row["site"] for row in rows]


def test_only_what_is_named_is_left() -> None:
    """ASVS 8.2.3, checked against the text of 5.0.0."""
    (shown,) = stripped([row("north")], 100.0)
    assert shown["steaks"] == [
        {
            "steak": "left",
            "phase": "on",
            "celsius": 48.9,
            "reading_t": 99.0,
            "pull_c": None,
            "pull_t": None,
        }
    ]
    assert shown["next"] is None
    assert "chance" not in shown
    assert set(shown) == set(row("north")) - {"chance"}


@pytest.mark.parametrize("call", ["pull_now", "pull_soon", "overdue", "probe_lost", "plan_step"])
def test_an_alarm_that_could_tell_is_not_shown(call: str) -> None:
    (shown,) = stripped([row("north", alarm=alarm(call))], 100.0)
    assert shown["alarm"] is None


@pytest.mark.parametrize("call", ["silent", "lost", "gone", "rest_done"])
def test_what_everybody_sees_is_shown_and_never_how_near_the_pull_is(call: str) -> None:
    one, other = (
        stripped([row("north", alarm=alarm(call, priority))], 100.0) for priority in (1, 2)
    )
    assert one[0]["alarm"]["call"] == call
    assert one == other


def test_the_order_does_not_tell_whose_pull_is_next() -> None:
    near, far = row("west"), row("east")
    far["steaks"][0]["pull_t"] = None
    far["next"] = None
    assert sites(stripped([near, far], 100.0)) == ["east", "west"]
    called = row("west", alarm=alarm("pull_now"))
    assert sites(stripped([called, far], 100.0)) == ["east", "west"]
    silent = row("west", state="silent", alarm=alarm("silent"))
    assert sites(stripped([far, silent], 100.0)) == ["west", "east"]
