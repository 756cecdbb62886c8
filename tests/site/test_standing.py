"""What the last lines of the log say sounded when the daemon ended."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from pullcall.events import (
    Acknowledgement,
    Call,
    CallKind,
    CookHeader,
    Input,
    Mark,
    MarkKind,
    Reading,
    Restart,
    SteakSettings,
    Undo,
)
from pullcall.log.entries import Entry
from pullcall.log.spill import Spill, spill_beside
from pullcall.log.spill_lines import Heading
from pullcall.log.store import Store
from pullcall.site.standing import Standing, standing

HEADER = CookHeader(
    "c", "2026-06-13T13:40:00+00:00", (SteakSettings("left"), SteakSettings("right"))
)
ZERO = 1000.0


def pull(t: float, steak: str = "right", kind: CallKind = CallKind.PULL_NOW) -> Call:
    return Call(t, f"c-{steak}", (steak,), kind, None, 1, f"{steak}: pull now")


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with Store(tmp_path / "cooks.db") as store:
        store.begin(HEADER, "boot-1", ZERO)
        yield store


def log(store: Store, *events: Input | Call) -> None:
    store.write([Entry("c", event) for event in events])


def stood(store: Store, t: float, boot: str = "boot-1") -> Standing | None:
    return standing(store, boot, ZERO + t)


def test_a_pull_that_nobody_answered_stands(store: Store) -> None:
    log(store, pull(300.0), Reading(301.0, "right", 54.0, "p/2"), Restart(302.0))
    assert stood(store, 310.0) == Standing(("right",), ("left", "right"))


def test_two_steaks_whose_pull_was_called_stand_together(store: Store) -> None:
    log(store, pull(300.0, "left", CallKind.OVER), pull(300.0))
    found = stood(store, 305.0)
    assert found is not None
    assert found.steaks == ("left", "right")


@pytest.mark.parametrize(
    "done",
    [Acknowledgement(301.0, "c-right", "me"), Mark(301.0, "right", MarkKind.OFF, "off")],
    ids=["answered", "off"],
)
def test_what_somebody_did_since_leaves_it_to_the_core(store: Store, done: Input) -> None:
    log(store, pull(300.0), done)
    assert stood(store, 303.0) is None


def test_of_two_pulls_the_one_that_was_answered_does_not_stand(store: Store) -> None:
    log(store, pull(300.0, "left"))
    log(store, Acknowledgement(301.0, "c-left", "me"), Mark(302.0, "left", MarkKind.OFF, "off"))
    log(store, pull(310.0))
    assert stood(store, 312.0) == Standing(("right",), ("left", "right"))


@pytest.mark.parametrize(
    "done",
    [Acknowledgement(311.0, "c-left", "me"), Mark(311.0, "left", MarkKind.OFF, "off")],
    ids=["answered", "off"],
)
def test_what_was_done_about_one_steak_leaves_the_others_pull(store: Store, done: Input) -> None:
    log(store, pull(309.0, "left"), pull(310.0), done)
    assert stood(store, 312.0) == Standing(("right",), ("left", "right"))


@pytest.mark.parametrize(
    "done",
    [Mark(311.0, None, MarkKind.OFF, "off"), Undo(311.0, "m"), Acknowledgement(311.0, "c-x", "me")],
    ids=["all off", "undone", "of an unknown call"],
)
def test_what_may_concern_all_leaves_none(store: Store, done: Input) -> None:
    log(store, pull(309.0, "left"), pull(310.0), done)
    assert stood(store, 312.0) is None


def test_a_pull_called_again_after_an_answer_stands(store: Store) -> None:
    log(store, pull(300.0), Acknowledgement(301.0, "c-right", "me"))
    log(store, pull(306.0, kind=CallKind.OVER))
    assert stood(store, 307.0) == Standing(("right",), ("left", "right"))


def test_while_anything_waits_in_a_spill_nothing_does(store: Store) -> None:
    log(store, pull(300.0))
    off = Entry("c", Mark(301.0, "right", MarkKind.OFF, "off"))
    Spill(store.path).disk.append(Heading("s", 0, store.place()), [off])
    assert stood(store, 303.0) is None


def test_a_spill_that_cannot_be_read_may_hold_an_answer(store: Store) -> None:
    log(store, pull(300.0))
    spill_beside(store.path).mkdir()
    assert stood(store, 303.0) is None


def test_what_sounded_long_ago_or_before_a_reboot_or_in_another_cook_does_not(store: Store) -> None:
    log(store, pull(300.0))
    assert stood(store, 340.0) is None
    assert stood(store, 303.0, boot="boot-2") is None
    store.end("c", "2026-06-13T13:46:00+00:00")
    assert stood(store, 303.0) is None


def test_a_lesser_call_does_not(store: Store) -> None:
    log(store, Call(300.0, "c1", ("left",), CallKind.TURN, 0.0, 2, "Left: turn now"))
    assert stood(store, 301.0) is None


def test_a_log_that_cannot_be_read_keeps_nothing_from_starting(tmp_path: Path) -> None:
    with Store(tmp_path / "closed.db") as closed:
        closed.begin(HEADER, "boot-1", ZERO)
    assert stood(closed, 1.0) is None
