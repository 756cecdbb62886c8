"""What would fail if the steaks went on now."""

from __future__ import annotations

from dataclasses import replace

import pytest

from pullcall.core.cook import Cook
from pullcall.events import (
    Condition,
    CookHeader,
    Fault,
    FireSettings,
    Reading,
    Setting,
    Spot,
    SteakSettings,
    Window,
)
from pullcall.site.readiness import Around, ClockSight, readiness
from pullcall.sources.sink import LinkState, ProbeStatus

STEAKS = (SteakSettings("left", channel="p/1"), SteakSettings("right"))
HEADER = CookHeader(
    "c", "2026-06-13T13:40:00+00:00", steaks=STEAKS, fire=FireSettings(channel="p/3")
)
WINDOW = Window("2026-06-13T14:00:00+00:00", "2026-06-13T14:30:00+00:00")
LIVE = ProbeStatus("p/1", "p", "probe", "simulated", LinkState.STREAMING, 5.0)
AROUND = Around(is_heard=True, clock=ClockSight(), probes=(LIVE,))


def ready_cook(*inputs: Condition | Setting | Spot, header: CookHeader = HEADER) -> Cook:
    """A cook whose grate is hot."""
    cook = Cook(header)
    for t in range(40):
        cook.apply(Reading(float(t), None, 280.0, "p/3"))
    for event in inputs:
        cook.apply(replace(event, t=40.0))
    cook.advance(42.0)
    return cook


def failing(cook: Cook, around: Around = AROUND) -> dict[str, str]:
    return {check.name: check.words for check in readiness(cook, around) if not check.ok}


def test_with_all_well_nothing_fails_and_the_bare_steak_is_told_as_such() -> None:
    cook = ready_cook()
    assert failing(cook) == {}
    words = [check.words for check in readiness(cook, AROUND)]
    assert "Right: no probe, by spots" in words


def test_without_anybody_to_hear_it_says_what_to_do() -> None:
    said = failing(ready_cook(), replace(AROUND, is_heard=False))["heard"]
    assert "tap to hear calls on a phone" in said


@pytest.mark.parametrize("probes", [(), (replace(LIVE, state=LinkState.STALE),)])
def test_a_probe_that_does_not_speak_is_named(probes: tuple[ProbeStatus, ...]) -> None:
    found = failing(ready_cook(), replace(AROUND, probes=probes))
    assert found == {"probe left": "Left: its probe is silent, wake it or tap in spots"}


def test_a_grate_below_its_floor_is_to_be_waited_for_and_shown_in_degrees() -> None:
    cook = ready_cook(Setting(0.0, None, "fire_floor_c", 300.0))
    (fire,) = (check for check in readiness(cook, AROUND) if check.name == "fire")
    assert not fire.ok
    assert fire.celsius == pytest.approx(280.0)
    assert "below its floor" in fire.words


def test_a_flaring_grate_is_to_be_held_back() -> None:
    cook = ready_cook(Setting(0.0, None, "fire_ceiling_c", 270.0))
    assert "above its ceiling" in failing(cook)["fire"]


def test_a_silent_grate_probe_fails_and_a_cook_without_one_is_not_asked() -> None:
    cook = Cook(HEADER)
    cook.advance(5.0)
    assert "grate's probe is silent" in failing(cook)["fire"]
    bare = Cook(replace(HEADER, fire=FireSettings()))
    bare.advance(5.0)
    assert "fire" not in failing(bare)


def test_the_clock_matters_only_to_a_window() -> None:
    untrusted = replace(AROUND, clock=ClockSight(""))
    assert failing(ready_cook(), untrusted) == {}
    assert "clock" in failing(ready_cook(header=replace(HEADER, window=WINDOW)), untrusted)


@pytest.mark.parametrize(
    ("fault", "says"), [(Fault.RECORDER, "not being recorded"), (Fault.DISK, "nearly full")]
)
def test_trouble_with_the_disk_is_told(fault: Fault, says: str) -> None:
    assert says in failing(ready_cook(Condition(0.0, fault, True)))["recorder"]
