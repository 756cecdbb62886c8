"""What would fail if the steaks went on now."""

from __future__ import annotations

from dataclasses import replace

import pytest

from pullcall.bus.status import BusState, BusStatus
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
from pullcall.sources.sink import LinkState, ProbeStatus, Way

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


GONE = Way(frozenset({"p/1", "p/3"}), "The broker is not reached")


def unprobed(*steaks: SteakSettings) -> Cook:
    """A cook of whose probes nothing was ever heard."""
    cook = Cook(replace(HEADER, steaks=steaks or STEAKS))
    cook.advance(5.0)
    return cook


def test_what_keeps_probes_from_being_heard_is_told_instead_of_each_of_them() -> None:
    cut = replace(AROUND, probes=(replace(LIVE, state=LinkState.LOST),), ways=(GONE,))
    said = "The broker is not reached, so left and grate are not heard: see Probes, or tap in spots"
    assert failing(unprobed(), cut) == {"probes left": said}
    first, second = readiness(unprobed(), replace(cut, is_heard=False))[:2]
    assert (first.name, second.name) == ("heard", "probes left")


def test_a_probe_that_never_spoke_may_miss_any_way_and_one_that_speaks_misses_none() -> None:
    steaks = SteakSettings("left", channel="p/1"), SteakSettings("right", channel="q/1")
    bluetooth = Way(frozenset(), "Bluetooth is off")
    around = replace(AROUND, ways=(replace(GONE, trouble=""), bluetooth))
    found = failing(unprobed(*steaks), around)
    assert found["probes right"].startswith("Bluetooth is off, so right is not heard")
    assert "probe left" not in found
    assert "grate's probe is silent" in found["fire"], "its own way goes"


def test_what_was_begun_just_now_is_looked_for_and_not_missed() -> None:
    broker = BusStatus(BusState.FAILING, "refused")
    around = Around(True, ClockSight(), (), broker=broker, ways=(GONE,), is_settling=True)
    found = failing(unprobed(), around)
    assert set(found) == {"probe left", "fire", "broker"}
    assert not any("silent" in words or "not reached" in words for words in found.values())
    later = failing(unprobed(), replace(around, is_settling=False))
    assert "not reached" in later["probes left"]
    assert "not reached" in later["broker"]


def test_that_no_file_can_be_opened_is_told() -> None:
    assert (
        "connections are open" in failing(ready_cook(), replace(AROUND, has_files=False))["files"]
    )


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
