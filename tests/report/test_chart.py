"""The drawings: well-formed, hostile names harmless, everything at its place."""

from __future__ import annotations

import re
from dataclasses import replace
from xml.etree.ElementTree import Element, fromstring

import pytest

from pullcall.events import MarkKind
from pullcall.hindsight.facts import CookFacts
from pullcall.report.aligned import aligned
from pullcall.report.chart import NARROW, WIDE, chart
from tests.report.hand import cook, steak, with_steak
from tests.report.test_markup import HOSTILE

SVG = "{http://www.w3.org/2000/svg}"


def texts(drawn: Element) -> list[str]:
    return [node.text or "" for node in drawn.iter(f"{SVG}text")]


def curves(drawn: Element) -> list[list[tuple[float, float]]]:
    found = []
    for node in drawn.iter(f"{SVG}polyline"):
        pairs = (pair.split(",") for pair in node.attrib["points"].split())
        found.append([(float(x), float(y)) for x, y in pairs])
    return found


def empty() -> CookFacts:
    """Two steaks of which nothing is known."""
    facts = cook()
    bare = tuple(type(s)(s.steak, s.settings) for s in facts.steaks)
    return replace(facts, steaks=bare, said=(), alarms=(), window_t=None)


@pytest.mark.parametrize("width", [WIDE, NARROW])
@pytest.mark.parametrize("unit", ["F", "C"])
def test_a_chart_is_well_formed_and_as_wide_as_asked(width: float, unit: str) -> None:
    drawn = fromstring(chart(cook(), unit, width))
    assert drawn.attrib["viewBox"].split()[2] == f"{width:.0f}"
    assert len(curves(drawn)) == 2


def test_levels_and_the_title_are_in_the_reader_s_unit() -> None:
    assert "pull 129.0 F" in texts(fromstring(chart(cook(), "F")))
    assert "target 57.0 C" in texts(fromstring(chart(cook(), "C")))
    assert "left off at 129.6 F, peak 134.6 F" in chart(cook(), "F")
    with pytest.raises(ValueError, match="F or C"):
        chart(cook(), "K")


def test_steaks_that_differ_have_levels_of_their_own() -> None:
    facts = with_steak(cook(), 1, pull_c=52.0)
    told = texts(fromstring(chart(facts, "C")))
    assert "pull left 53.9 C" in told
    assert "pull right 52.0 C" in told


def test_calls_and_marks_are_written_beside_their_lane() -> None:
    told = texts(fromstring(chart(cook(), "F")))
    assert told.count("40 20 10 now") == 2
    for mark in ("on", "turn", "flip", "off", "box"):
        assert mark in told


def test_lines_are_told_apart_by_dashes() -> None:
    lines = list(fromstring(chart(cook(), "F")).iter(f"{SVG}polyline"))
    assert len({line.attrib.get("stroke-dasharray") for line in lines}) == 2


def test_a_whisker_lies_around_the_crossing_as_it_was_told() -> None:
    """120 s before, 111 to 133.5 s were told: 9 s before the crossing to 13.5 s after."""
    one = cook(steaks=(steak(),))
    drawn = fromstring(chart(one, "F"))
    strokes = [n for n in drawn.iter(f"{SVG}line") if n.attrib.get("class") == "pen first"]
    spans = [
        (float(n.attrib["x1"]), float(n.attrib["x2"]))
        for n in strokes
        if n.attrib["y1"] == n.attrib["y2"]
    ]
    truth = [n for n in drawn.iter(f"{SVG}line") if n.attrib["stroke-width"] == "2.5"]
    crossed = float(truth[0].attrib["x1"])
    assert len(spans) == 4
    begin, end = spans[0]
    assert (end - crossed) / (crossed - begin) == pytest.approx(13.5 / 9.0, abs=0.02)
    assert spans[0][0] < spans[1][0] < spans[2][0] < spans[3][0] < crossed


def test_a_forecast_that_missed_is_drawn_open() -> None:
    facts = cook(steaks=(steak(),))
    missed = replace(facts.steaks[0].leads[3], true_in_s=60.0)
    leads = (*facts.steaks[0].leads[:3], missed)
    filled = chart(facts, "F").count("hollow")
    assert chart(with_steak(facts, 0, leads=leads), "F").count("hollow") == filled + 1


def test_a_cook_of_which_nothing_is_known_says_so() -> None:
    drawn = fromstring(chart(empty(), "F"))
    assert curves(drawn) == []
    assert "It was not seen to reach the pull temperature." in texts(drawn)


def test_hostile_names_are_only_words() -> None:
    facts = cook(HOSTILE, (steak(HOSTILE), steak(f"{HOSTILE} 2", 140.0)))
    for drawn in (chart(facts, "F"), aligned([facts, facts], "F")):
        assert "<script" not in drawn
        fromstring(drawn)


def test_aligned_cores_begin_at_their_own_on() -> None:
    """The same steak on at another time of the cook is the very same curve."""
    early, late = cook("a", (steak(on_t=100.0),)), cook("b", (steak(on_t=437.0),))
    one, other = curves(fromstring(aligned([early, late], "F")))
    assert one == other


def test_the_mark_of_on_lies_at_zero() -> None:
    """A curve's place of on is where the axis says 0."""
    drawn = fromstring(aligned([cook("a", (steak(),)), cook("b", (steak(start_c=9.0),))], "C"))
    zero = next(float(n.attrib["x"]) for n in drawn.iter(f"{SVG}text") if n.text == "0")
    for points in curves(drawn):
        flat = [x for x, y in points if y == points[0][1]]
        assert max(flat) == pytest.approx(zero, abs=12.0)
        assert any(x == pytest.approx(zero, abs=0.1) for x, _ in points)


def test_each_aligned_cook_has_dashes_and_a_letter_of_its_own() -> None:
    cooks = [cook(f"c{n}", (steak(cooked_s=540.0 + 20.0 * n),)) for n in range(6)]
    drawn = fromstring(aligned(cooks, "F"))
    lines = list(drawn.iter(f"{SVG}polyline"))
    assert len({line.attrib.get("stroke-dasharray") for line in lines}) == 6
    for letter in "ABCDEF":
        assert letter in texts(drawn)


def test_aligned_marks_are_ticks_of_the_curve() -> None:
    with_marks = cook("a", (steak(),))
    without = with_steak(with_marks, 0, marks=())
    kept = sum(m.mark in (MarkKind.TURN, MarkKind.FLIP) for m in with_marks.steaks[0].marks)
    count = re.compile(r'stroke-width="1.5" stroke="currentColor"')
    both = len(count.findall(aligned([with_marks, with_marks], "F")))
    assert both - len(count.findall(aligned([without, with_marks], "F"))) >= kept


def test_steaks_of_other_names_are_aligned_by_their_place() -> None:
    other = cook("b", (steak("front"), steak("back", 140.0)))
    told = texts(fromstring(aligned([cook(), other], "F")))
    assert "left / front" in told
    assert "right / back" in told
