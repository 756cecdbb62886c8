"""The sheet's words: what stands on it, in which unit, and that it asks for nothing."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from datetime import UTC, timedelta, timezone
from html.parser import HTMLParser

import pytest

from pullcall.events import Note
from pullcall.hindsight.facts import CookFacts, FireFacts
from pullcall.report.page import items, table
from pullcall.report.sheet import sheet
from pullcall.report.style import STYLE
from tests.report.hand import (
    alarm,
    cook,
    earlier_cooks,
    full_cook,
    full_notes,
    steak,
    with_steak,
)
from tests.report.test_markup import HOSTILE


@dataclass(frozen=True, slots=True)
class Together:
    """What all cooks together say."""

    label: str
    words: str


WALL = "2026-06-13T16:00:00Z"


def html(facts: CookFacts, notes: tuple[Note, ...] = (), unit: str = "F") -> str:
    return sheet(facts, earlier_cooks(), notes, unit, zone=UTC)


def full(unit: str = "F") -> str:
    return html(full_cook(), full_notes(), unit)


class Seen(HTMLParser):
    """The elements with their attributes, and headings in order."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.headings: list[str] = []
        self._open = ""
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        self._open = tag

    def handle_data(self, data: str) -> None:
        if self._open == "h2":
            self.headings.append(data)
        self._open = ""


def test_what_to_change_comes_first_then_what_differed_then_the_chart() -> None:
    assert Seen(full()).headings[:3] == ["Next time", "Different from last time", "How it went"]


def test_the_head_says_place_day_and_that_it_was_simulated() -> None:
    assert re.search(r"<h1>Riverside park, 13 June 2026, \d\d:\d\d</h1>", full())
    assert "simulated cook, no real meat" in full()
    facts = cook()
    assert (
        "simulated cook"
        not in html(replace(facts, setup=replace(facts.setup, simulated=False))).split("</header>")[
            0
        ]
    )


def test_times_are_of_the_zone_asked_for() -> None:
    facts = replace(cook(), alarms=(alarm(began_t=60.0),))
    assert "13:41:00" in sheet(facts, (), (), "F", zone=UTC)
    assert "09:41:00" in sheet(facts, (), (), "F", zone=timezone(timedelta(hours=-4)))


@pytest.mark.parametrize("unit, other", [("F", "C"), ("C", "F")])
def test_temperatures_are_in_one_unit(unit: str, other: str) -> None:
    words = re.sub(r"<[^>]*>", " ", full(unit).replace(STYLE, ""))
    assert re.search(rf"\d {unit}\b", words)
    assert not re.search(rf"\d {other}\b", words)


def test_another_unit_is_refused() -> None:
    with pytest.raises(ValueError, match="F or C"):
        html(cook(), unit="K")


def test_forecasts_stand_against_the_truth() -> None:
    row = "<td>124</td><td>111 – 134</td><td>120</td><td>+3.6</td><td>yes</td>"
    assert row in html(cook(steaks=(steak(),)))


def test_carry_over_is_told_and_measured() -> None:
    text = html(cook(steaks=(steak(),)), unit="C")
    assert '<th scope="row">carry-over measured</th><td>+2.8 C</td>' in text
    assert '<th scope="row">told between</th><td>2.0 – 3.6 C</td>' in text


def test_the_plan_tells_moments_from_lengths_of_time() -> None:
    text = full()
    head = ("planned at", "begun at", "took", "meant")
    assert "".join(f'<th scope="col">{cell}</th>' for cell in head) in text
    assert "<td>13:00</td><td>13:00</td><td>16.7 min</td><td>15-20 min</td>" in text


def test_a_thickness_is_in_inches_beside_fahrenheit() -> None:
    assert '<th scope="row">thickness</th><td>1.26 in</td>' in html(cook(), unit="F")
    assert '<th scope="row">thickness</th><td>32 mm</td>' in html(cook(), unit="C")


def test_scores_and_notes_of_people_are_there() -> None:
    assert "taste 8.5; doneness 9 / 9 / 7" in full()
    assert "480 g, fat cap a little thick" in full()


def test_what_all_cooks_together_say_is_there() -> None:
    said = Together("Bands", "held the truth 80 % of the time")
    assert "held the truth 80 %" in sheet(cook(), (), (), "F", (), (said,))


def test_the_caution_is_there_once_and_only_where_a_peak_stayed_below() -> None:
    assert html(cook()).count("USDA FSIS") == 1
    facts = cook()
    for place in range(2):
        facts = with_steak(facts, place, peak_c=65.0)
    assert "USDA FSIS" not in html(facts)


def test_hostile_words_stay_words() -> None:
    notes = tuple(
        Note(WALL, None, name, HOSTILE)
        for name in ("place", "contest", "notes", f"score.{HOSTILE}", "handed_in")
    )
    facts = cook(HOSTILE, (steak(HOSTILE), steak(f"{HOSTILE}2", 140.0)))
    facts = replace(facts, alarms=(alarm(steaks=(HOSTILE,), cause=HOSTILE),))
    text = html(facts, notes)
    assert "<script" not in text
    assert "\x00" not in text
    text.encode()


def test_nothing_is_asked_for_from_anywhere() -> None:
    """No script, no style attribute, no address but the namespace of SVG."""
    text = full()
    seen = Seen(text)
    assert {tag for tag, _ in seen.tags}.isdisjoint(
        {"script", "link", "img", "iframe", "object", "base", "form", "use", "image"}
    )
    names = {name for _, attributes in seen.tags for name in attributes}
    assert names.isdisjoint({"style", "src", "href", "xlink:href", "action", "data"})
    assert not any(name.startswith("on") for name in names)
    assert set(re.findall(r"[a-z]+://[^\s\"']+", text)) == {"http://www.w3.org/2000/svg"}
    assert "url(" not in text
    assert "@import" not in text


def test_the_style_is_the_very_text_to_hash() -> None:
    assert full().count("<style>") == 1
    assert full().split("<style>")[1].split("</style>")[0] == STYLE


def test_lists_say_how_many_more_there_are() -> None:
    drawn = items([str(n) for n in range(14)], 5)
    assert drawn.count('class="beyond"') == 9
    assert "and 9 more" in drawn
    assert "more" not in items(["1", "2"], 2)
    rows = [(str(n), "x") for n in range(9)]
    assert "and 4 more" in table(("a", "b"), rows, 5)


def test_a_cook_of_which_little_is_known_still_has_a_sheet() -> None:
    facts = cook()
    bare = tuple(type(s)(s.steak, s.settings) for s in facts.steaks)
    facts = replace(
        facts, steaks=bare, fire=FireFacts(), steps=(), said=(), window_t=None, chance_at_on=None
    )
    facts = replace(facts, setup=replace(facts.setup, started="once"))
    text = sheet(facts, (), (), "F")
    assert "<h1>cook-1</h1>" in text
    assert "There is no earlier cook" in text
    assert "No probe at the grate" in text


def test_a_good_cook_is_told_so() -> None:
    assert "Do it again: nothing was off." in html(cook())
