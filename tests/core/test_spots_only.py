"""A cook with hand-held spots only: asked for in time, and pulled by what they show."""

from __future__ import annotations

from collections.abc import Iterable

from pullcall.core.cook import Cook, Effect
from pullcall.events import Call, CallKind, CookHeader, Forecast, Input, Spot, SteakSettings
from pullcall.site.view import schedule_of
from tests.cooks import ONE, on

#: The pull, if nothing is ever measured, comes well before this, s.
END_S = 900.0


def cooked(
    events: Iterable[Input], until: float, header: CookHeader = ONE
) -> tuple[Cook, list[Effect]]:
    cook, out = Cook(header), list[Effect]()
    for event in events:
        out += cook.apply(event)
    return cook, out + cook.advance(until)


def said(effects: list[Effect], kind: CallKind) -> list[Call]:
    return [e for e in effects if isinstance(e, Call) and e.call is kind]


def scheduled(cook: Cook, now: float) -> set[str]:
    return {call["text"] for call in schedule_of(cook, now) if call["call"] == "pull_now"}


def test_without_a_spot_there_is_always_a_forecast_two_askings_and_a_pull_by_estimate() -> None:
    _, effects = cooked([on(1.0)], END_S)
    assert all(e.pull_in_s is not None for e in effects if isinstance(e, Forecast) and e.t > 1.0)
    asked = said(effects, CallKind.SPOT_DUE)
    pulled = said(effects, CallKind.PULL_NOW)
    assert len(asked) == 2
    assert asked[0].t + 120.0 < pulled[0].t
    assert {call.text for call in pulled} == {"Left: pull now, by estimate: check it"}


def test_a_spot_that_shows_time_left_takes_an_estimated_pull_back() -> None:
    pulled_t = said(cooked([on(1.0)], END_S)[1], CallKind.PULL_NOW)[0].t
    _, effects = cooked([on(1.0), Spot(pulled_t + 5.0, "left", 40.0, "s")], pulled_t + 20.0)
    held = said(effects, CallKind.PULL_HOLD)
    assert held
    assert held[0].t >= pulled_t + 5.0


def test_the_schedule_for_a_dead_link_says_what_is_only_estimated() -> None:
    cook, _ = cooked([on(1.0)], 300.0)
    assert scheduled(cook, 300.0) == {"Left: pull now, by estimate: check it"}
    assigned = CookHeader("one", ONE.started, steaks=(SteakSettings("left", channel="left/1"),))
    # A probe that is assigned and was never heard is no thermometer either.
    cook, _ = cooked([on(1.0)], 100.0, assigned)
    assert scheduled(cook, 100.0) == {"Left: pull now, by estimate: check it"}
