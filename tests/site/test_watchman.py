"""Faults around the cook become inputs when they begin and when they end."""

from __future__ import annotations

import threading
from collections import namedtuple
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from pullcall.events import Condition, Fault
from pullcall.site.wall_clock import WallWatch
from pullcall.site.watchman import Sight, Watchman
from pullcall.sources.sink import LinkState, ProbeStatus

NOON = datetime(2026, 6, 13, 12, tzinfo=UTC)
PROBE = ProbeStatus("p/1", "p", "north probe", "simulated", LinkState.STREAMING, 5.0)
WELL = Sight(NOON, 100.0, is_heard=True, is_recording=True, probes=(PROBE,))


@pytest.fixture
def watchman(tmp_path: Path) -> Watchman:
    return Watchman(tmp_path / "cooks.db")


def test_nothing_is_entered_while_all_is_well(watchman: Watchman) -> None:
    assert watchman.changes(WELL, (), 5.0) == []


@pytest.mark.parametrize(
    ("sight", "fault", "detail"),
    [
        (replace(WELL, is_heard=False), Fault.UNHEARD, ""),
        (replace(WELL, is_recording=False), Fault.RECORDER, ""),
        (
            replace(WELL, probes=(replace(PROBE, battery_percent=9),)),
            Fault.BATTERY,
            "north probe",
        ),
    ],
)
def test_a_fault_is_entered_once_when_it_begins_and_once_when_it_ends(
    watchman: Watchman, sight: Sight, fault: Fault, detail: str
) -> None:
    assert watchman.changes(sight, (), 5.0) == [Condition(5.0, fault, True, detail)]
    assert watchman.changes(sight, [(fault, detail)], 6.0) == []
    assert watchman.changes(WELL, [(fault, detail)], 7.0) == [Condition(7.0, fault, False, detail)]


def test_a_disk_with_little_room_is_a_fault(
    watchman: Watchman, monkeypatch: pytest.MonkeyPatch
) -> None:
    usage = namedtuple("usage", "total used free")
    monkeypatch.setattr("shutil.disk_usage", lambda path: usage(10, 9, 1_000_000))
    watchman.changes(WELL, (), 5.0)
    assert watchman.free.look is not None
    watchman.free.look.join(10)
    assert watchman.changes(WELL, (), 6.0) == [Condition(6.0, Fault.DISK, True)]


def test_a_disk_that_does_not_answer_is_asked_once_and_holds_nothing_up(
    watchman: Watchman, monkeypatch: pytest.MonkeyPatch
) -> None:
    answers, asked = threading.Event(), []
    usage = namedtuple("usage", "total used free")

    def hang(path: Path) -> object:
        asked.append(path)
        answers.wait(20)
        return usage(10, 9, 1_000_000)

    monkeypatch.setattr("shutil.disk_usage", hang)
    for t in range(5):
        assert watchman.changes(WELL, (), float(t)) == []
    look = watchman.free.look
    answers.set()
    assert look is not None
    look.join(10)
    assert len(asked) == 1
    assert watchman.changes(WELL, (), 6.0) == [Condition(6.0, Fault.DISK, True)]


def test_a_jump_of_the_clock_is_told_for_a_minute(watchman: Watchman) -> None:
    later = replace(WELL, wall=NOON + timedelta(hours=1, seconds=1), monotonic=101.0)
    assert watchman.changes(WELL, (), 0.0) == []
    assert watchman.changes(later, (), 1.0) == [Condition(1.0, Fault.CLOCK, True)]
    settled = replace(later, wall=NOON + timedelta(hours=1, seconds=70), monotonic=170.0)
    assert watchman.changes(settled, [(Fault.CLOCK, "")], 70.0) == [
        Condition(70.0, Fault.CLOCK, False)
    ]


def test_a_wall_clock_that_is_slowly_corrected_does_not_jump() -> None:
    watch = WallWatch()
    moments = [(NOON + timedelta(seconds=t * 1.0005), float(t)) for t in range(0, 3600, 10)]
    assert not any(watch.jumped(wall, monotonic) for wall, monotonic in moments)
