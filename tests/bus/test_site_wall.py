"""The time of day at a site, as the process that publishes it knows it."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from pullcall.bus.site_wall import SiteWall

#: The machine's own clock, and what time it is really.
MACHINE = datetime(2020, 1, 1, 0, 0, 0, 700_000, UTC)
NOON = datetime(2026, 6, 13, 12, 0, 0, 700_000, UTC)


def after(seconds: float, moment: datetime = MACHINE) -> datetime:
    return moment + timedelta(seconds=seconds)


def heard(wall: datetime, mode: str = "live") -> SiteWall:
    site = SiteWall()
    snapshot = {"type": "snapshot", "wall": wall.isoformat(timespec="seconds"), "mode": mode}
    site.learn(snapshot, MACHINE)
    return site


def test_it_is_the_machines_own_although_a_snapshot_tells_only_seconds() -> None:
    site = heard(MACHINE)
    assert site.at(after(3.0)) == after(3.0)
    assert site.at(after(9e6)) == after(9e6)  # which a network may set right in the middle


def test_what_the_cook_set_it_to_holds_to_the_millisecond() -> None:
    site = heard(MACHINE)
    zero = after(-600.0, NOON).isoformat()
    setting = {"type": "setting", "t": 600.0, "steak": None, "name": "started", "value": zero}
    site.learn(setting, MACHINE)
    assert site.at(after(2.0)) == after(2.0, NOON)
    snapshot = {"type": "snapshot", "wall": "2026-06-13T12:00:02+00:00", "mode": "live"}
    site.learn(snapshot, after(2.9))
    assert site.at(after(5.0)) == after(5.0, NOON)


def test_a_process_that_begins_later_knows_it_to_the_second() -> None:
    site = heard(NOON)
    assert timedelta() <= NOON - site.at(MACHINE) < timedelta(seconds=1)


def test_other_settings_say_nothing_of_it() -> None:
    site = heard(MACHINE)
    for steak, name in (("left", "started"), (None, "rest_on")):
        site.learn({"type": "setting", "t": 1.0, "steak": steak, "name": name}, MACHINE)
    site.learn({"type": "tick", "t": 1.0}, MACHINE)
    assert site.at(MACHINE) == MACHINE


def test_of_a_simulated_cook_it_is_that_of_whoever_hears_it() -> None:
    assert heard(NOON, "demo").at(after(3.0)) == after(3.0)
