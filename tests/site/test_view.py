"""What pages are shown of a cook."""

from __future__ import annotations

from pullcall.core.cook import Cook
from pullcall.events import Call, CallKind, CookHeader, SteakSettings
from pullcall.site.hub import Hub
from pullcall.site.view import View


def test_an_alarm_that_sounds_again_says_since_when_it_does() -> None:
    cook = Cook(CookHeader("c", "2026-06-13T13:40:00+00:00", (SteakSettings("left"),)))
    view = View(cook, Hub())
    for t in (10.0, 15.0, 20.0):
        view.show_effects(
            [Call(t, "c1", ("left",), CallKind.PULL_NOW, None, 1, "Left: pull now")], t
        )
    view.show_effects([Call(21.0, "c2", (), CallKind.UNHEARD, None, 1, "Nobody hears")], 21.0)
    shown = {call["id"]: (call["t"], call["since_t"]) for call in view.snapshot(21.0)["calls"]}
    assert shown == {"c1": (20.0, 10.0), "c2": (21.0, 21.0)}
