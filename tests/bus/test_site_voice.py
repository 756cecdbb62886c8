"""What is sent of a site's state and calls, and when. No broker, no clock."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from typing import Any

import pytest

from pullcall.bus.channels import place_of
from pullcall.bus.options import SiteOptions
from pullcall.bus.publication import Publication
from pullcall.bus.site_voice import SiteVoice
from pullcall.core.cook import Cook
from pullcall.events import CookHeader, SteakSettings
from tests.bus.told import CALL, PROBE, Told, snapshot_of, whole_cook
from tests.recorded import THIN

Json = dict[str, Any]
NOON = datetime(2026, 6, 13, 12, 0, 0, 250_000, UTC)
A_WEEK_S = 7 * 86_400.0
ALONE = CookHeader("alone", "2026-06-13T14:40:00Z", (SteakSettings("left"),))


class Site:
    """A voice on a connection; ``now`` goes on as the test says."""

    def __init__(self, **snapshot: object) -> None:
        self.voice = SiteVoice(SiteOptions("north", "North grill"), "1.2.3")
        self.now = 0.0
        self.voice.take(snapshot_of(Told(Cook(THIN.header())).view, 0.0, **snapshot), self.now)
        self.voice.begin()

    def hear(self, *messages: Json) -> list[Publication]:
        for message in messages:
            self.voice.take(message, self.now)
        return self.say()

    def say(self) -> list[Publication]:
        """All that is to be sent now."""
        said = []
        while (one := self.voice.next(self.now)) is not None:
            said.append(one)
        return said

    def call(self) -> Publication | None:
        return self.voice.calls.first(self.now, NOON)


def topics(said: list[Publication]) -> list[str]:
    return [one.topic.removeprefix("pullcall/1/north/") for one in said]


def body(said: list[Publication], topic: str) -> Json:
    (one,) = [one for one in said if one.topic == f"pullcall/1/north/{topic}"]
    parsed: Json = json.loads(one.payload)
    return parsed


def forecast(t: float) -> Json:
    pull = {"p10": 1.0, "p50": 2.0, "p90": 3.0}
    return {"type": "forecast", "t": t, "steak": "left", "pull_in_s": pull, "peak_c": None}


def tick(t: float) -> Json:
    return {"type": "tick", "t": t}


def probes(**changed: object) -> Json:
    return {"type": "probes", "probes": [PROBE | changed], "adapter": None}


def test_a_connection_begins_with_who_is_here_and_then_everything_once() -> None:
    site = Site()
    said = site.say()
    assert topics(said) == [
        "presence", "pulse", "cook", "steak/1", "steak/2", "steak/1/reading", "steak/2/reading",
        "steak/1/forecast", "steak/2/forecast", "steak/1/curve", "steak/2/curve", "deeds",
        "calls", "schedule", "plan", "grate", "proposals", "probes", "around",
    ]  # fmt: skip
    here = {"state": "here", "name": "North grill", "version": "1.2.3"}
    assert body(said, "presence") == here
    assert all(one.retained for one in said)
    assert body(said, "cook")["steaks"] == ["left", "right"]
    site.voice.begin()
    assert topics(site.say()) == topics(said)


def test_what_is_sent_of_a_whole_cook_is_what_its_models_say_and_nothing_is_lost() -> None:
    messages, _ = whole_cook()
    site = Site()
    said = site.say()
    for message in messages:
        site.now = message.get("t", site.now)
        said += site.hear(message)
        while (call := site.call()) is not None:
            said.append(call)
            site.voice.calls.sent()
    seen = set()
    for one in said:
        place = place_of(one.topic)
        assert place is not None
        assert place.channel.payload is not None
        seen.add(place.channel.name)
        if one.payload:
            sent = json.loads(one.payload)
            read = place.channel.payload.model_validate(sent)
            assert json.loads(read.model_dump_json(exclude_unset=True)) == sent
            assert read.model_dump(mode="json", exclude_unset=True) == sent
        assert (one.qos, one.retained) == (place.channel.qos, place.channel.retained)
    assert seen >= {"call", "calls", "forecast", "reading", "curve", "deeds", "plan", "schedule"}
    calls = [int(dict(one.user)["seq"]) for one in said if one.topic.endswith("/call")]
    assert calls == list(range(1, len(calls) + 1))
    numbers = [int(dict(one.user)["seq"]) for one in said if not one.topic.endswith("/call")]
    assert numbers == sorted(set(numbers))
    assert len({dict(one.user)["epoch"] for one in said}) == 1


def test_the_latest_of_a_topic_wins() -> None:
    site = Site()
    site.say()
    said = site.hear(forecast(1.0), forecast(2.0), forecast(3.0))
    assert topics(said) == ["steak/1/forecast"]
    assert body(said, "steak/1/forecast")["t"] == 3.0


def test_what_did_not_change_is_not_sent_again_until_it_is_about_to_expire() -> None:
    site = Site()
    site.say()
    schedule = {"type": "schedule", "calls": []}
    assert site.hear(schedule) == []
    site.now = 59.0
    assert topics(site.hear(tick(59.0))) == ["pulse"]
    site.now = 60.0  # half of the two minutes that it lasts
    assert topics(site.say()) == ["steak/1/forecast", "steak/2/forecast", "schedule"]
    assert site.voice.due_in(60.0) == pytest.approx(60.0)


def test_that_it_is_here_is_said_again_before_that_expires_unless_it_hangs() -> None:
    site = Site()
    site.say()
    site.now = A_WEEK_S / 2
    assert "presence" not in topics(site.say())
    assert site.voice.due_in(site.now) <= 10.0
    site.now += 10.0
    assert body(site.hear(tick(site.now)), "presence")["state"] == "here"
    assert "presence" not in topics(site.hear(tick(site.now)))


def test_a_site_that_hangs_is_not_kept_up() -> None:
    site = Site()
    site.say()
    site.now = 100.0
    assert site.say() == []
    site.now = 111.0
    assert topics(site.hear(tick(111.0))) == [
        "pulse",
        "steak/1/forecast",
        "steak/2/forecast",
        "schedule",
    ]


def test_probes_are_sent_each_five_seconds_but_a_change_of_state_at_once() -> None:
    site = Site()
    site.say()
    site.now = 1.0
    assert site.hear(probes(age_s=1.4)) == []
    assert topics(site.hear(probes(state="lost"))) == ["probes"]
    site.now = 2.0
    assert site.hear(probes(state="lost", celsius=42.0)) == []
    assert site.voice.due_in(2.0) == pytest.approx(4.0)
    site.now = 6.0
    assert body(site.say(), "probes")["probes"][0]["celsius"] == 42.0


def test_a_reading_is_sent_at_once_and_its_curve_each_fifteen_seconds() -> None:
    site = Site()
    site.say()
    reading = {"type": "reading", "steak": "right", "channel": "thin-2/0"}
    said = []
    for second in range(1, 31):
        site.now = float(second)
        said += topics(site.hear(reading | {"t": site.now, "celsius": 20.0 + second}))
    assert said.count("steak/2/reading") == 30
    assert said.count("steak/2/curve") == 2


def test_a_new_cook_begins_everything_anew_and_a_lane_that_it_does_not_have_is_forgotten() -> None:
    site = Site()
    site.say()
    said = site.hear(snapshot_of(Told(Cook(ALONE)).view, 0.0))
    assert len(said) == 18
    forgotten = [topic for topic, one in zip(topics(said), said, strict=True) if not one.payload]
    assert forgotten == [
        "steak/2", "steak/1/reading", "steak/2/reading", "steak/1/forecast", "steak/2/forecast",
        "steak/2/curve",
    ]  # fmt: skip


def test_a_text_that_no_reader_would_take_holds_up_nothing_else(
    caplog: pytest.LogCaptureFixture,
) -> None:
    site = Site(banner="x" * 501)
    said = topics(site.say())
    assert "pulse" not in said
    assert "around" in said
    site.hear(tick(1.0))
    assert [record.getMessage() for record in caplog.records] == [
        "pulse cannot be published as it is (banner: String should have at most 500 characters)."
    ]
    assert topics(site.hear({"type": "banner", "banner": "short"})) == ["pulse"]


def test_a_call_expires_with_what_it_announces() -> None:
    site = Site()
    site.hear(CALL | {"id": "soon", "t": 0.0, "call": "pull_soon", "in_s": 40.0})
    site.now = 1.5
    first = site.call()
    assert first is not None
    assert (first.expires_s, first.retained, first.qos) == (3, False, 1)
    assert dict(first.user)["until"] == "2026-06-13T12:00:03.750Z"


@pytest.mark.parametrize(("in_s", "lasts_s"), [(40.0, 5), (5.0, 5), (3.0, 3), (1.0, 1), (0.0, 30)])
def test_seconds_that_are_counted_down_are_told_in_time_or_not_at_all(
    in_s: float, lasts_s: int
) -> None:
    """But "now" (0) stays so."""
    site = Site()
    site.hear(CALL | {"t": 0.0, "call": "turn", "priority": 2, "in_s": in_s})
    first = site.call()
    assert first is not None
    assert first.expires_s == lasts_s
    site.now = lasts_s - 0.5
    assert site.call() is None


@pytest.mark.parametrize(("priority", "lasts_s"), [(1, 5), (2, 30), (3, 300)])
def test_a_call_without_a_time_of_its_own_lasts_by_its_priority(
    priority: int, lasts_s: int
) -> None:
    site = Site()
    site.hear(CALL | {"t": 0.0, "priority": priority})
    first = site.call()
    assert first is not None
    assert first.expires_s == lasts_s
    site.now = lasts_s - 1.0
    again = site.call()
    assert again is not None
    assert again.expires_s == 1
    site.now = lasts_s - 0.9  # no broker knows less than a second
    assert site.call() is None


def test_a_call_that_is_sent_twice_is_known_by_its_number_and_its_end() -> None:
    site = Site()
    site.hear(CALL | {"id": "one", "t": 0.0}, CALL | {"id": "two", "t": 0.0})
    first = site.call()
    site.hear(tick(1.0))  # something else is sent meanwhile
    assert site.call() == first
    site.voice.calls.sent()
    second = site.call()
    assert first is not None
    assert second is not None
    assert [dict(one.user)["seq"] for one in (first, second)] == ["1", "2"]
    assert dict(first.user)["epoch"] == dict(site.hear(tick(2.0))[0].user)["epoch"]


def test_a_call_that_may_have_gone_out_is_not_counted_as_dropped() -> None:
    site = Site()
    site.hear(CALL | {"id": "out", "t": 0.0}, CALL | {"id": "in", "t": 0.0})
    site.call()
    site.now = 60.0
    assert site.call() is None
    assert (site.voice.calls.unconfirmed, site.voice.calls.dropped) == (1, 1)


def test_in_a_cook_that_runs_faster_than_life_a_call_misleads_sooner() -> None:
    site = Site(speed=20)
    site.hear(CALL | {"t": 0.0, "in_s": 40.0})
    first = site.call()
    assert first is not None
    assert first.expires_s == 2


def test_a_call_that_nobody_heard_is_announced_again() -> None:
    site = Site()
    site.hear(CALL | {"t": 0.0})
    site.now = 30.0
    site.hear(tick(30.0), CALL | {"t": 0.0, "insistent": True})
    again = site.call()
    assert again is not None
    assert json.loads(again.payload)["insistent"]


def test_a_call_that_was_missed_is_announced_from_the_snapshot_unless_it_is_old() -> None:
    site = Site()
    calls = [CALL | {"id": "old", "t": 94.0}, CALL | {"id": "new", "t": 97.0}]
    view = Told(Cook(THIN.header())).view
    site.voice.take(snapshot_of(view, 0.0, t=100.0, calls=calls), 0.0)
    first = site.call()
    assert first is not None
    assert (json.loads(first.payload)["id"], first.expires_s) == ("new", 2)


def test_the_calls_of_a_cook_before_the_site_was_heard_are_not_announced() -> None:
    assert Site(calls=[CALL], t=100.0).call() is None


def test_calls_that_wait_for_ever_are_bounded_and_the_oldest_goes() -> None:
    site = Site()
    site.hear(*(CALL | {"id": f"c{k}", "t": 0.0, "in_s": 900.0} for k in range(100)))
    first = site.call()
    assert first is not None
    assert json.loads(first.payload)["id"] == "c36"
    assert site.voice.calls.dropped == 36
    for k in range(100, 200):  # the first one goes while it is on its way
        site.hear(CALL | {"id": f"c{k}", "t": 0.0, "in_s": 900.0})
    site.voice.calls.sent()
    after = site.call()
    assert after is not None
    assert json.loads(after.payload)["id"] == "c136"


def test_the_last_will_and_the_farewell_say_how_it_ended() -> None:
    voice = Site().voice
    said = (voice.last_will(), voice.farewell("gone"), voice.farewell("lost"))
    assert [json.loads(one.payload)["state"] for one in said] == ["lost", "gone", "lost"]
    assert {one.topic for one in said} == {"pullcall/1/north/presence"}
