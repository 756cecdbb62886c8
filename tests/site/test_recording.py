"""A cook that is over as the file that a page plays."""

from __future__ import annotations

import json
import random
from collections.abc import Iterable
from dataclasses import replace
from decimal import ROUND_HALF_UP, Decimal

import pytest

from pullcall.core.cook import Cook
from pullcall.events import CookHeader, Mark, MarkKind, Reading, SteakSettings, Undo
from pullcall.hindsight.study import steps
from pullcall.log.cook_file import CookFile
from pullcall.site.hub import Hub
from pullcall.site.view import View
from tests.recorded import (
    Json,
    messages,
    of,
    short_cook,
    short_facts,
    short_recording,
    studied,
)

HEADER = CookHeader("c", "2026-06-13T13:40:00Z", (SteakSettings("left", channel="a/0"),))


def made(*inputs: Reading | Mark | Undo) -> list[Json]:
    """The recording of a cook of one steak."""
    cook = CookFile(HEADER, tuple(sorted(inputs, key=lambda event: event.t)), (), ())
    return played(cook)


def played(cook: CookFile) -> list[Json]:
    """The recording of any cook."""
    recorder, facts = studied(cook)
    return messages(recorder.gzipped(facts))


def idle(temperatures: Iterable[tuple[float, float]]) -> list[Reading]:
    return [Reading(t, "left", celsius, "a/0") for t, celsius in temperatures]


def test_the_same_cook_gives_the_same_bytes() -> None:
    begin = tuple(event for event in short_cook().inputs if event.t < 90.0)
    cook = replace(short_cook(), inputs=begin)
    once, again = (recorder.gzipped(facts) for recorder, facts in (studied(cook), studied(cook)))
    assert once == again


def test_it_begins_with_a_snapshot_has_one_each_minute_and_ends_with_one() -> None:
    head, first, *rest = messages(short_recording())
    assert head["type"] == "recording"
    assert (first["type"], first["t_rx"]) == ("snapshot", head["starts_t"])
    minutes = [one["t_rx"] for one in of("snapshot", [first, *rest])]
    assert minutes[1:-1] == [60.0, 120.0, 180.0, 240.0, 300.0, 360.0]
    assert minutes[-1] == head["ends_t"] == pytest.approx(400.0, abs=2.0)
    assert rest[-1]["type"] == "snapshot"
    assert {s["phase"] for s in rest[-1]["steaks"]} == {"handed_in"}


def test_its_messages_are_those_that_a_live_page_would_have_received() -> None:
    hub, heard = Hub(), list[Json]()
    listener = hub.join()
    cook = Cook(short_cook().header)
    view = View(cook, hub)
    for event, effects, t in steps(cook, short_cook().inputs):
        if event is not None:
            view.show_input(event)
        view.show_effects(effects, t)
        while not listener.queue.empty():
            heard.append({**json.loads(listener.queue.get_nowait() or ""), "t_rx": t})
    taken = messages(short_recording())[1:]
    begun = taken[0]["t_rx"]
    for kind in sorted({one["type"] for one in heard} - {"reading"}):
        live = [{k: v for k, v in one.items() if k != "seq"} for one in of(kind, heard)]
        kept = [one for one in of(kind, taken) if one["t_rx"] > begun]
        assert kept == [one for one in live if one["t_rx"] > begun], kind
        assert live, kind
    assert {"forecast", "call", "mark", "steak", "schedule", "plan", "fire"} <= {
        one["type"] for one in heard
    }


def test_every_reading_of_a_steak_that_cooks_is_there_and_none_of_no_steak() -> None:
    taken = [(r["t"], r["celsius"]) for r in of("reading", messages(short_recording()))
             if r["steak"] == "left" and r["t"] > 20.0]  # fmt: skip
    logged = [(r.t, r.celsius) for r in short_cook().inputs
              if isinstance(r, Reading) and r.steak == "left" and r.t > 20.0]  # fmt: skip
    assert taken == logged
    assert {r["steak"] for r in of("reading", messages(short_recording()))} == {"left", "right"}


def test_the_stops_are_the_marks_that_stand_and_each_call_when_first_made() -> None:
    head = messages(short_recording())[0]
    marks = [(s["t"], s["label"], s["steak"]) for s in head["stops"] if s["kind"] == "mark"]
    assert marks == [
        (e.t, str(e.mark), e.steak) for e in short_cook().inputs if isinstance(e, Mark)
    ]
    calls = [s for s in head["stops"] if s["kind"] == "call"]
    said = {one["id"]: one for one in reversed(of("call", messages(short_recording())))}
    assert sorted((s["t"], s["label"]) for s in calls) == sorted(
        (one["t"], one["text"]) for one in said.values()
    )
    assert any(s["priority"] == 1 and s["label"] == "Left: pull now" for s in calls)
    assert [s["t"] for s in head["stops"]] == sorted(s["t"] for s in head["stops"])


def test_a_mark_that_was_taken_back_is_shown_but_is_no_stop() -> None:
    head, *rest = made(
        *idle((float(t), 10.0) for t in range(30)),
        Mark(5.0, "left", MarkKind.ON, "m1"),
        Undo(9.0, "m1"),
        Mark(12.0, "left", MarkKind.ON, "m2"),
    )
    assert [s["t"] for s in head["stops"] if s["kind"] == "mark"] == [12.0]
    assert [one["id"] for one in of("mark", rest)] == ["m1", "m2"]
    assert [one["id"] for one in of("undo", rest)] == ["m1"]


def test_what_came_true_is_told_before_anything() -> None:
    head = messages(short_recording())[0]
    left = short_facts().steak("left")
    assert left is not None
    assert head["truth"][0] == {"steak": "left", "cross_t": left.cross_t, "off_t": left.off_t,
                                "off_c": left.off_c, "peak_t": left.peak_t,
                                "peak_c": left.peak_c}  # fmt: skip
    assert left.cross_t is not None
    assert head["as_called"] is None, "no calls were logged"


def test_an_hour_of_waiting_at_the_same_temperature_keeps_a_reading_in_five_seconds() -> None:
    taken = of("reading", made(*idle((float(t), 4.0) for t in range(3600))))
    assert 3600 / 5 <= len(taken) <= 3600 / 4


@pytest.mark.parametrize("seed", range(8))
def test_leaving_readings_out_changes_nothing_that_a_page_shows(seed: int) -> None:
    rng = random.Random(seed)
    t, celsius, logged = 0.0, 4.0, list[tuple[float, float]]()
    while t < 400.0:
        celsius += rng.choice((0.0, 0.0, 0.0, 0.0, 0.125, -0.125, 0.25))
        logged.append((t, celsius))
        t = round(t + rng.choice((0.5, 1.0, 1.0, 2.0, 2.0, 4.0, 9.0)), 3)
    taken = of("reading", made(*idle(logged)))
    kept = [logged[0], *((one["t"], one["celsius"]) for one in taken)]
    assert len(kept) < len(logged)
    for second in range(int(logged[-1][0])):
        assert shown(kept, second) == shown(logged, second)


def shown(readings: list[tuple[float, float]], t: float) -> tuple[str, str, str]:
    """A waiting lane's core in both units, and how long its probe has been silent."""
    at, celsius = max(one for one in readings if one[0] <= t)
    units = (celsius, celsius * 9 / 5 + 32)
    c, f = (str(Decimal(one).quantize(Decimal("0.1"), ROUND_HALF_UP)) for one in units)
    return c, f, f"silent {round(t - at)} s" if t - at > 6 else ""


def test_a_cook_from_before_its_zero_begins_there() -> None:
    head, first, *_ = made(*idle((float(t), 4.0) for t in range(-90, 10)))
    assert (head["starts_t"], first["t_rx"]) == (-90.0, -90.0)


def test_a_cook_of_nothing_but_its_settings_has_its_snapshot() -> None:
    bare = replace(HEADER, cook="bare")
    head, *rest = played(CookFile(bare, (), (), ()))
    assert (head["starts_t"], head["ends_t"]) == (0.0, 0.0)
    assert {one["type"] for one in rest} == {"snapshot"}
