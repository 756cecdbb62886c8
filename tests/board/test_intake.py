"""What waits to be taken is taken in turn: no site crowds the others out, or fills the memory."""

from __future__ import annotations

import logging

import pytest

from pullcall.board.intake import Intake, Message
from pullcall.board.refusals import Refusals
from pullcall.board.stamp import Stamp

FLOODS = "its site says more than a board takes"


@pytest.fixture
def refusals() -> Refusals:
    return Refusals()


@pytest.fixture
def intake(refusals: Refusals) -> Intake:
    return Intake(refusals)


def say(intake: Intake, site: str, topic: str, text: str = "{}", now: float = 0.0) -> None:
    intake.put(Message(f"pullcall/1/{site}/{topic}", text.encode(), False, Stamp()), now)


def taken(intake: Intake, now: float = 0.0) -> list[Message]:
    return list(iter(lambda: intake.next(now), None))


def topics(messages: list[Message]) -> list[str]:
    return [message.topic.removeprefix("pullcall/1/") for message in messages]


def test_what_one_site_says_is_taken_in_order(intake: Intake) -> None:
    for topic in ("pulse", "cook", "steak/1"):
        say(intake, "north", topic)
    assert topics(taken(intake)) == ["north/pulse", "north/cook", "north/steak/1"]
    assert not intake.waiting


def test_sites_are_taken_in_turn(intake: Intake) -> None:
    for topic in ("pulse", "cook", "plan"):
        say(intake, "south", topic)
    say(intake, "north", "pulse")
    assert topics(taken(intake))[:2] == ["south/pulse", "north/pulse"]


def test_of_a_topic_that_waits_the_latest_counts(intake: Intake, refusals: Refusals) -> None:
    say(intake, "north", "plan", "1")
    say(intake, "north", "cook")
    say(intake, "north", "plan", "2")
    assert [message.payload for message in taken(intake)] == [b"2", b"{}"]
    assert refusals.count == 0, "nothing is missing for it"


def test_a_site_that_says_all_its_state_at_once_is_taken_whole(
    intake: Intake, refusals: Refusals
) -> None:
    for k in range(300):
        say(intake, "north", f"steak/{k % 20}", "x" * 1000)
        assert len(taken(intake)) == 1
    assert refusals.count == 0


def test_a_site_that_floods_has_what_it_said_last_shown_and_no_more(
    intake: Intake, refusals: Refusals, caplog: pytest.LogCaptureFixture
) -> None:
    heard: list[Message] = []
    with caplog.at_level(logging.WARNING):
        for k in range(5000):
            say(intake, "south", "calls", f"{k:0100000}", k * 0.2)
            say(intake, "north", "pulse", f"{k}", k * 0.2)
            seen = taken(intake, k * 0.2)
            assert "north/pulse" in topics(seen), "others are heard at once all the same"
            heard += [message for message in seen if "south" in message.topic]
    assert 3000 < len(heard) < 5000, "as much as is read in a thousand seconds"
    assert refusals.by_reason[FLOODS] == pytest.approx(5000 - len(heard), abs=1)
    assert [r.getMessage() for r in caplog.records] == [
        f"A message of 'south' (flood) is left out: {FLOODS}."
    ]
    heard += taken(intake, 2000.0)
    assert heard[-1].payload == f"{4999:0100000}".encode()


def test_a_site_has_no_more_room_than_it_needs(intake: Intake, refusals: Refusals) -> None:
    for k in range(2000):
        say(intake, "south", f"steak/{k}", "x" * 200_000)
    assert sum(len(message.payload) for message in taken(intake)) <= 1024 * 1024
    assert refusals.count == 1995
    assert not intake.is_overfull, "it is no reason to begin again for all"


def test_topics_of_no_site_have_the_room_of_one(intake: Intake, refusals: Refusals) -> None:
    for k in range(5000):
        say(intake, f"No Site {k}", "pulse")
    assert len(taken(intake)) == 64
    assert refusals.count == 5000 - 64


def test_sites_without_end_find_no_room(intake: Intake, refusals: Refusals) -> None:
    for k in range(5000):
        say(intake, f"s{k}", "pulse")
    assert len(taken(intake)) == 2000
    assert refusals.count == 3000
    say(intake, "late", "pulse", now=100.0)
    assert topics(taken(intake, 100.0)) == ["late/pulse"], "those that fell quiet made room"


def test_a_board_that_falls_behind_with_all_of_them_begins_again(intake: Intake) -> None:
    for k in range(80):
        for topic in ("a", "b", "c", "d"):
            say(intake, f"s{k}", topic, "x" * 250_000)
    before = intake.is_overfull
    intake.clear()
    assert (before, intake.is_overfull) == (True, False)
    assert taken(intake) == []
    say(intake, "s1", "pulse")
    assert topics(taken(intake)) == ["s1/pulse"]


def test_long_topics_fill_no_more_than_long_payloads(intake: Intake, refusals: Refusals) -> None:
    """A broker that means harm may name a topic of 64 kB in a message of nothing."""
    for n in range(40):
        say(intake, "north", f"{n}{'x' * 60_000}", "")
    waiting = taken(intake)
    assert sum(len(message.topic) for message in waiting) <= 1024 * 1024
    assert refusals.count == 40 - len(waiting)
