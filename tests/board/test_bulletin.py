"""Pages of a board are told what changed, gathered, and nothing else."""

from __future__ import annotations

from typing import Any

from pullcall.board.bulletin import Bulletin
from pullcall.board.quiet_hub import QuietHub
from tests.board.published import taken
from tests.board.sites import Sites

Json = dict[str, Any]


class Pages:
    """A board's page, and what it is told as time passes."""

    def __init__(self) -> None:
        self.sites = Sites()
        self.hub = QuietHub()
        self.bulletin = Bulletin(self.sites.roster, self.hub)
        self.page = self.hub.join()

    def told(self, after_s: float = 0.1) -> list[Json]:
        """What it is told so much later, without ticks."""
        self.sites.now += after_s
        self.bulletin.gather(self.sites.now)
        return [line for line in taken(self.page) if line["type"] != "tick"]


def test_the_rows_that_changed_are_told_together_with_the_order() -> None:
    pages = Pages()
    for site in ("a", "b", "c"):
        pages.sites.begin(site)
    pages.told()
    pages.sites.due("b", 600.0)
    pages.sites.say("c", "reading", {"celsius": 30.0}, lane=1)
    [line] = pages.told()
    assert line["type"] == "rows"
    assert {row["site"] for row in line["rows"]} == {"b", "c"}
    assert line["order"] == ["b", "a", "c"]


def test_what_says_nothing_new_is_not_told() -> None:
    pages = Pages()
    pages.sites.begin("a")
    pages.told()
    for _ in range(5):
        pages.sites.say("a", "pulse", {"t": pages.sites.now})
        assert pages.told(1.0) == []


def test_a_site_that_falls_silent_is_told_without_a_word_from_it() -> None:
    pages = Pages()
    pages.sites.begin("a")
    pages.told()
    lines = [line for _ in range(8) for line in pages.told(1.0)]
    assert [line["rows"][0]["state"] for line in lines] == ["silent"]
    assert lines[0]["rows"][0]["alarm"]["call"] == "silent"


def test_a_site_that_is_forgotten_is_left_out_of_the_order() -> None:
    pages = Pages()
    pages.sites.begin("a")
    pages.sites.begin("b")
    pages.told()
    pages.sites.give("pullcall/1/a/presence", b"")
    [line] = pages.told()
    assert (line["rows"], line["order"]) == ([], ["b"])


def test_there_is_a_tick_each_second() -> None:
    pages = Pages()
    for _ in range(31):
        pages.told()
    for _ in range(30):
        pages.sites.now += 0.1
        pages.bulletin.gather(pages.sites.now)
    ticks = [line["t"] for line in taken(pages.page) if line["type"] == "tick"]
    assert len(ticks) == 3


def test_nothing_is_worked_out_while_nobody_looks() -> None:
    pages = Pages()
    pages.hub.leave(pages.page)
    quiet = QuietHub()
    bulletin = Bulletin(pages.sites.roster, quiet)
    pages.sites.begin("a")
    bulletin.gather(pages.sites.now)
    assert quiet.seq == 0
    page = quiet.join()
    bulletin.gather(pages.sites.now + 0.1)
    assert [line["order"] for line in taken(page) if line["type"] == "rows"] == [["a"]]
