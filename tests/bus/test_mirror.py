"""What pages know, kept up from their messages: equal to what a newcomer is told."""

from __future__ import annotations

from typing import Any

import pytest

from pullcall.bus import channels
from pullcall.bus.encoding import Encoder
from pullcall.bus.examples import EXAMPLES
from pullcall.bus.mirror import Mirror
from pullcall.bus.slot import SLOTS, Slot
from pullcall.core.cook import Cook
from pullcall.events import CookHeader, Mark, MarkKind, SteakSettings
from tests.bus.told import CALL, Told, snapshot_of, whole_cook
from tests.recorded import THIN

Json = dict[str, Any]


def mirror_of(*messages: Json) -> Mirror:
    mirror = Mirror()
    for message in messages:
        mirror.learn(message, 0.0)
    return mirror


def state_of(mirror: Mirror) -> dict[str, bytes | None]:
    """All its topics as they would be sent."""
    said = {}
    for slot in SLOTS:
        body = mirror.body(slot)
        payload = None if body is None else Encoder().payload(slot.channel, body)
        said[slot.channel.topic("s", slot.lane)] = payload
    return said


def begun(**other: object) -> Json:
    return snapshot_of(Told(Cook(THIN.header())).view, 0.0, **other)


def test_who_followed_a_cook_knows_what_a_newcomer_is_told() -> None:
    messages, whole = whole_cook()
    known = state_of(mirror_of(*messages))
    assert b'"phase":"handed_in"' in (known["pullcall/1/s/steak/2"] or b"")
    assert len(known["pullcall/1/s/calls"] or b"") > 500
    assert known == state_of(mirror_of(whole[-1], messages[-1]))


@pytest.mark.parametrize("minute", [1, 3, 5])
def test_who_came_in_the_middle_knows_no_less_at_the_end(minute: int) -> None:
    messages, whole = whole_cook()
    places = [k for k, message in enumerate(messages) if message["type"] == "newcomer"]
    came = mirror_of(whole[minute], *messages[places[minute - 1] :])
    assert state_of(came) == state_of(mirror_of(*messages))


def test_before_the_first_snapshot_there_is_nothing_to_be_said() -> None:
    mirror = mirror_of({"type": "tick", "t": 5.0}, CALL)
    assert all(
        payload is None for topic, payload in state_of(mirror).items() if "calls" not in topic
    )
    assert mirror.cook is None


def test_what_was_taken_back_is_gone() -> None:
    mark = {"type": "mark", "id": "m1", "t": 3.0, "at": None, "steak": None, "mark": "on"}
    spot = {"type": "spot", "id": "s1", "t": 4.0, "steak": "left", "celsius": 20.0}
    undo = {"type": "undo", "t": 5.0, "id": "m1"}
    deeds = mirror_of(begun(), mark, spot, undo).body(Slot(channels.DEEDS))
    assert deeds is not None
    assert deeds["marks"] == []
    assert [s["id"] for s in deeds["spots"]] == ["s1"]


def test_the_wall_goes_with_the_cooks_clock_and_with_who_sets_it() -> None:
    tick = {"type": "tick", "t": 90.0}
    started = {"t": 90.0, "steak": None, "name": "started", "value": "2026-06-13T15:00:00+02:00"}
    mirror = mirror_of(begun(wall="2026-06-13T13:40:00Z"), tick)
    pulse = Slot(channels.PULSE)
    assert (mirror.body(pulse) or {})["wall"] == "2026-06-13T13:41:30+00:00"
    mirror.learn({"type": "setting", **started}, 0.0)
    mirror.learn(tick, 0.0)
    assert (mirror.body(pulse) or {})["wall"] == "2026-06-13T15:01:30+02:00"


def test_a_reading_of_no_steak_shows_nowhere() -> None:
    reading = {"type": "reading", "t": 1.0, "steak": None, "channel": "spare/0", "celsius": 21.0}
    before = state_of(mirror_of(begun()))
    assert state_of(mirror_of(begun(), reading)) == before


def test_a_call_of_a_kind_nobody_knows_yet_ends_nothing() -> None:
    mirror = mirror_of(begun(), {"type": "weather", "rain": True})
    assert mirror.names == ("left", "right")


def test_the_last_calls_are_kept_and_every_alarm_that_lives() -> None:
    alarm = CALL | {"id": "alive"}
    ended = CALL | {"id": "ended"}
    turns = [CALL | {"id": f"t{k}", "call": "turn", "state": "cleared"} for k in range(30)]
    over = {"type": "call_state", "t": 9.0, "id": "ended", "state": "cleared", "by": ""}
    shown = mirror_of(begun(), alarm, ended, over, *turns).body(Slot(channels.CALLS))
    assert shown is not None
    assert [c["id"] for c in shown["calls"]] == ["alive", *(f"t{k}" for k in range(10, 30))]


def test_an_alarm_that_sounds_again_is_shown_once_in_its_latest_form() -> None:
    again = CALL | {"t": 105.0, "insistent": True}
    mirror = mirror_of(begun(), CALL, CALL | {"id": "other"}, again)
    calls = (mirror.body(Slot(channels.CALLS)) or {})["calls"]
    assert [(c["id"], c["t"]) for c in calls] == [("other", 100.0), ("c1", 105.0)]


def test_a_cook_of_one_steak_has_one_lane() -> None:
    header = CookHeader("one", "2026-06-13T13:40:00Z", (SteakSettings("left"),))
    told = Told(Cook(header))
    told.view.show_input(Mark(1.0, None, MarkKind.ON, "m1"))
    mirror = mirror_of(begun(), *told.messages)
    assert mirror.names == ("left",)
    empty = [slot.channel.name for slot in SLOTS if slot.lane == 2 and mirror.body(slot) is None]
    assert empty == ["steak", "reading", "forecast", "curve"]


def test_of_a_crowd_of_probes_the_cook_s_own_are_told_and_no_more_than_a_board_takes() -> None:
    one = EXAMPLES["probes"][0]["probes"][0]
    crowd = [
        {**one, "channel": f"other-{n}/1", "steak": None, "is_grate": False} for n in range(90)
    ]
    own = {**one, "channel": "own/1", "steak": "left"}
    grate = {**one, "channel": "grate/1", "steak": None, "is_grate": True}
    told = {"probes": [*crowd, own, grate], "adapter": None}
    later = {"type": "probes", **told}
    for mirror in (mirror_of(begun(), later), mirror_of(begun(**told))):
        payload = state_of(mirror)["pullcall/1/s/probes"]
        assert payload is not None
        probes = channels.PROBES.payload.model_validate_json(payload).probes  # type: ignore[union-attr]
        assert [probe.channel for probe in probes[:2]] == ["own/1", "grate/1"]
