"""A site as a device of home automation, by the convention's own rules."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

from pullcall.bus.homie import SLOW_S, Homie
from pullcall.bus.options import SiteOptions
from pullcall.simulators.tape import Tape
from tests.bus.homie_controller import Controller
from tests.tapes import first_minutes

Json = dict[str, Any]
DOCUMENTATION = Path(__file__).parents[2] / "docs" / "sites.md"
NORTH = SiteOptions("north", "North grill")
AROUND: Json = {
    "epoch": "e", "seq": 1, "wall": "2026-06-13T13:40:00Z", "speed": 1, "mode": "demo",
    "unit": "F", "ends_t": None, "banner": None, "probes": [], "adapter": None,
    "readiness": [], "outlets": [],
}  # fmt: skip
ALARM: Json = {
    "type": "call", "id": "c1", "t": 200.0, "steaks": ["left"], "call": "pull_now", "in_s": None,
    "priority": 1, "text": "Left: pull now", "insistent": False, "state": "unacknowledged",
    "clip": None,
}  # fmt: skip


@pytest.fixture
def tape() -> Tape:
    return first_minutes()


class Device:
    """A voice with a controller at the other end."""

    def __init__(self) -> None:
        self.voice = Homie(NORTH)
        self.controller = Controller()
        self.sent: list[tuple[float, str, bytes]] = []

    def begin(self, now: float = 0.0) -> None:
        self.voice.begin()
        self.speak(now)

    def speak(self, now: float) -> list[str]:
        """Everything it has to say now: the topics below the device."""
        said = []
        while (one := self.voice.next(now)) is not None:
            self.controller.take(one.topic, one.payload, one.retained)
            assert one.qos == 2  # the convention's recommendation
            said.append(one.topic.removeprefix("homie/5/pullcall-north/"))
            self.sent.append((now, said[-1], one.payload))
        return said

    def hear(self, message: Json, now: float) -> list[str]:
        self.voice.take(message, now)
        return self.speak(now)


def snapshot(tape: Tape, t: float = 0.0, **changed: object) -> Json:
    return {**tape.whole_at(t).message, **AROUND, **changed}


def cooked(tape: Tape, until: float) -> Device:
    """A device that heard a cook from its begin until then."""
    device = Device()
    device.begin()
    device.hear(snapshot(tape), 0.0)
    for said in tape.after(0.0):
        if said.t > until:
            break
        device.hear(said.message, said.t)
    device.speak(until + SLOW_S)
    return device


def test_it_begins_in_init_before_it_knows_anything() -> None:
    device = Device()
    device.begin()
    assert device.controller.states == ["init"]
    assert device.voice.due_in(0.0) == float("inf")


def test_the_description_and_the_values_come_before_it_is_ready(tape: Tape) -> None:
    device = Device()
    device.begin()
    said = device.hear(snapshot(tape), 0.0)
    assert said[0] == "$description"
    assert said[-1] == "$state"
    assert device.controller.states == ["init", "ready"]
    described = {
        f"{node}/{one}"
        for node, all in device.controller.descriptions[-1]["nodes"].items()
        for one in all["properties"]
    }
    assert set(said[1:-1]) == described, "each property has its value, or is forgotten"


def test_it_is_one_device_of_the_site_that_nobody_can_set(tape: Tape) -> None:
    device = cooked(tape, 0.0)
    assert device.controller.device == "pullcall-north"
    document = device.controller.descriptions[-1]
    assert document["name"] == "North grill"
    assert list(document["nodes"]) == ["cook", "steak-1", "steak-2", "grate", "alarms"]
    assert document["nodes"]["steak-1"]["name"] == "Left"
    for node in document["nodes"].values():
        for one in node["properties"].values():
            assert (one["settable"], one["retained"]) == (False, True)


def test_a_whole_cook_keeps_the_rules(tape: Tape) -> None:
    """The controller looks at each message as it comes."""
    device = cooked(tape, 290.0)
    assert len(device.controller.descriptions) == 1
    values = device.controller.values
    assert values["steak-1/phase"] == "on"
    assert values["cook/stage"] == "cooking"
    assert values["cook/next"].startswith("Turn") or "turn" in values["cook/next"]
    assert values["cook/next-due"] > "2026-06-13T13:44"
    assert float(values["steak-1/core"]) > 10.0
    assert float(values["steak-1/peak"]) > 50.0
    assert float(values["grate/temperature"]) > 200.0
    assert values["alarms/priority"] == "0"
    assert values["alarms/words"] == "\0"


def test_a_value_is_sent_when_it_changed_and_at_most_once_a_second(tape: Tape) -> None:
    device = cooked(tape, 120.0)
    first_ready = next(k for k, one in enumerate(device.sent) if one[2] == b"ready")
    last: dict[str, tuple[float, bytes]] = {}
    for at, topic, payload in device.sent[first_ready + 1 :]:
        if topic in last:
            assert at >= last[topic][0] + SLOW_S
            assert payload != last[topic][1]
        last[topic] = (at, payload)
    assert {"steak-1/core", "steak-2/core", "steak-1/rise"} <= last.keys()


def test_what_changed_too_soon_waits_for_its_second(tape: Tape) -> None:
    device = cooked(tape, 100.0)
    reading = {"type": "reading", "steak": "left", "channel": "x", "celsius": 71.3}
    device.hear({**reading, "t": 102.0}, 102.0)
    assert device.hear({**reading, "t": 102.4, "celsius": 71.6}, 102.4) == []
    assert device.voice.due_in(102.4) == pytest.approx(0.6)
    assert device.speak(103.0) == ["steak-1/core"]
    assert device.controller.values["steak-1/core"] == "71.6"


def test_the_most_urgent_alarm_that_lives_is_told(tape: Tape) -> None:
    device = cooked(tape, 200.0)
    worse = {**ALARM, "id": "c2", "call": "probe_lost", "priority": 2, "text": "Left: no probe"}
    device.hear(worse, 210.0)
    assert device.controller.values["alarms/words"] == "Left: no probe"
    device.hear(ALARM, 212.0)
    assert device.controller.values["alarms/priority"] == "1"
    assert device.controller.values["alarms/words"] == "Left: pull now"
    device.hear({"type": "call_state", "t": 214.0, "id": "c1", "state": "cleared"}, 214.0)
    assert device.controller.values["alarms/priority"] == "2"


def test_a_planned_call_is_no_alarm(tape: Tape) -> None:
    device = cooked(tape, 200.0)
    device.hear({**ALARM, "call": "turn", "priority": 2, "state": "cleared"}, 210.0)
    assert device.controller.values["alarms/priority"] == "0"


def test_another_cook_of_the_same_steaks_keeps_its_description(tape: Tape) -> None:
    device = cooked(tape, 200.0)
    again = snapshot(tape, cook={**tape.whole[0].message["cook"], "id": "another"})
    device.hear(again, 210.0)
    assert len(device.controller.descriptions) == 1
    assert device.controller.values["cook/stage"] == "waiting"


def test_a_cook_of_one_steak_is_described_anew_and_the_other_forgotten(tape: Tape) -> None:
    device = cooked(tape, 200.0)
    steaks = [{**tape.whole[0].message["steaks"][0], "steak": "ribeye"}]
    device.hear(snapshot(tape, steaks=steaks), 210.0)
    assert device.controller.states[-3:] == ["ready", "init", "ready"]
    before, after = device.controller.descriptions
    assert before["version"] != after["version"]
    assert "steak-2" not in after["nodes"]
    assert not [id for id in device.controller.values if id.startswith("steak-2/")]


def test_a_description_that_did_not_change_has_the_same_version(tape: Tape) -> None:
    one, other = cooked(tape, 0.0), cooked(tape, 60.0)
    versions = {d.controller.descriptions[-1]["version"] for d in (one, other)}
    assert len(versions) == 1


def test_another_connection_says_everything_again(tape: Tape) -> None:
    device = cooked(tape, 200.0)
    before = dict(device.controller.values)
    device.begin(210.0)
    assert device.controller.states[-2:] == ["init", "ready"]
    assert device.controller.values == before


def test_the_broker_never_forgets_a_device_by_itself() -> None:
    state = Homie(NORTH).last_will()
    assert state.topic == "homie/5/pullcall-north/$state"
    assert (state.payload, state.retained) == (b"lost", True)
    assert state.expires_s == 2**32 - 1


def test_a_goodbye_is_another_state_than_a_death() -> None:
    voice = Homie(NORTH)
    assert voice.farewell("gone").payload == b"disconnected"
    assert voice.farewell("lost").payload == b"lost"


def test_the_documentation_names_every_property(tape: Tape) -> None:
    told = DOCUMENTATION.read_text(encoding="utf-8").split("## Home automation")[1]
    rows = [line for line in told.splitlines() if line.startswith("| `")]
    for node, described in cooked(tape, 0.0).controller.descriptions[-1]["nodes"].items():
        row = next(line for line in rows if f"`{node}`" in line)
        assert set(described["properties"]) <= set(re.findall(r"`([a-z-]+)`", row))
