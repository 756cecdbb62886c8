"""The cook that runs, its steaks' settings, and the cooks that were."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

from fastapi import APIRouter

from pullcall.api.cook_site import SiteHere
from pullcall.api.models import (
    CookBody,
    CookSettingsBody,
    NewCookAnswer,
    SteakBody,
)
from pullcall.core.checks import known
from pullcall.core.setup import changed_setup, range_text, window_text
from pullcall.events import Setting

router = APIRouter(tags=["cooks"])


@router.patch("/cook")
async def change_cook(body: CookSettingsBody, site: SiteHere) -> dict[str, Any]:
    """Change settings of the running cook; answers with the cook's snapshot."""
    if body.wall is not None:  # first: a window is meant by this clock
        await site.set_clock(body.wall)
    changes = dict(_changes(body, site))
    if (body.fire_floor_c or 0.0) >= site.cook.setup.fire.ceiling_c:
        changes = dict(reversed(changes.items()))  # raise the ceiling before the floor
    setup = site.cook.setup
    for name, value in changes.items():  # all are checked, one upon the other, before one is taken
        setup = changed_setup(setup, Setting(site.now(), None, name, value))
    for name, value in changes.items():
        await site.take(_setting(None, name, value))
    cook: dict[str, Any] = site.snapshot()["cook"]
    return cook


@router.patch("/steaks/{name}")
async def change_steak(name: str, body: SteakBody, site: SiteHere) -> dict[str, Any]:
    """Change settings of a steak while it cooks; answers with the steak's snapshot."""
    known(name, site.cook.steaks)
    changes = body.model_dump(exclude_unset=True)
    makers = [_setting(name, s, v) for s, v in changes.items()]
    for setting, make in zip(changes, makers, strict=True):  # all are checked before one is taken
        if setting != "pull_by" or changes.get("target_c") is None:
            site.cook.check(make(site.now()))
    for make in makers:
        await site.take(make)
    steak: dict[str, Any] = next(s for s in site.snapshot()["steaks"] if s["steak"] == name)
    return steak


def _changes(body: CookSettingsBody, site: SiteHere) -> Iterator[tuple[str, float | str | None]]:
    """The settings that a request means, by the names and values that the log has."""
    plain = body.model_dump(exclude_unset=True, exclude={"window", "durations", "wall"})
    yield from plain.items()
    if "window" in body.model_fields_set:
        yield "window", window_text(site.window(body.window)) if body.window else None
    for step, range_ in body.durations.items():
        yield f"durations.{step}", None if range_ is None else range_text(range_)


def _setting(steak: str | None, name: str, value: float | str | None) -> Callable[[float], Setting]:
    return lambda t: Setting(t, steak, name, value)


@router.post("/cooks", status_code=201)
async def begin(body: CookBody, site: SiteHere) -> NewCookAnswer:
    """End the running cook and begin another."""
    steaks = tuple(s.settings() for s in body.steaks) if body.steaks else None
    return NewCookAnswer(cook=await site.begin(steaks))
