"""Two machines of one id: the one that is there is shown, whichever began first."""

from __future__ import annotations

from tests.board.sites import Sites


def both() -> Sites:
    """The first machine cooks, then a spare one begins."""
    sites = Sites()
    sites.begin("north", epoch="first")
    sites.now += 1.0
    sites.begin("north", "waiting", epoch="spare")
    return sites


def phases(sites: Sites) -> list[str]:
    return [steak["phase"] for steak in sites.row("north")["steaks"]]


def test_a_run_is_over_once_another_begins() -> None:
    sites = both()
    for _ in range(10):
        sites.now += 1.0
        sites.say("north", "steak", {"phase": "resting"}, lane=1, epoch="first")
        sites.say("north", "pulse", {"t": sites.now}, epoch="spare")
        assert phases(sites) == ["waiting"]


def test_a_run_that_goes_on_while_the_other_is_quiet_is_shown_again() -> None:
    sites = both()
    sites.say("north", "presence", {"state": "gone"}, epoch="spare")
    for _ in range(5):
        sites.now += 1.0
        sites.say("north", "pulse", {"t": sites.now}, epoch="first")
    row = sites.row("north")
    assert (row["state"], row["heard_t"]) == ("here", sites.now)


def test_what_it_said_meanwhile_is_shown_with_it() -> None:
    sites = both()
    sites.say("north", "steak", {"phase": "on"}, lane=1, epoch="first")
    sites.say("north", "steak", {"phase": "resting"}, lane=1, epoch="first")
    for _ in range(5):
        sites.now += 1.0
        sites.say("north", "pulse", {"t": sites.now}, epoch="first")
    assert phases(sites) == ["resting"]


def test_a_run_that_connects_anew_is_shown_at_once() -> None:
    sites = both()
    sites.begin("north", "resting", epoch="first")
    assert phases(sites) == ["resting"]
    assert sites.row("north")["state"] == "here"
    sites.say("north", "steak", {"phase": "waiting"}, lane=1, epoch="spare")
    assert phases(sites) == ["resting"], "now the spare one is over"


def test_a_late_word_of_a_run_that_is_over_is_no_news() -> None:
    sites = both()
    sites.now += 30.0
    sites.say("north", "pulse", {"t": 9.0}, epoch="first")
    sites.say("north", "steak", {"phase": "resting"}, lane=1, epoch="first")
    assert sites.row("north")["state"] == "silent"
    assert phases(sites) == ["waiting"]


def test_a_goodbye_of_a_run_that_is_over_says_nothing_of_the_other() -> None:
    sites = both()
    sites.say("north", "presence", {"state": "gone"}, epoch="first")
    assert sites.row("north")["state"] == "here"
