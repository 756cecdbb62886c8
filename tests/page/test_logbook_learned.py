"""A comparison of cooks, and what they taught."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, expect

from tests.page.open_logbook import heading, open_logbook
from tests.page.visit import Open

pytestmark = pytest.mark.integration


def test_a_comparison_is_a_chart_a_table_and_words(visit: Open) -> None:
    seen = open_logbook(visit, "#compare=c1,c2")
    page = seen.page
    expect(page.get_by_role("region", name="What differed")).to_contain_text("A 9:20, B 9:06")
    chart = page.locator(".picture img")
    expect(chart).to_have_attribute("alt", "Core temperatures, each cook from its steaks going on: "
        "A Sat 9 May 2026, 11:20, Willow Creek Spring Steak, Willow Creek; "
        "B Sat 6 Jun 2026, 12:00, Harbour Ribeye Cup, the pier at Eastmoor")  # fmt: skip
    seen.until("document.querySelector('.picture img').naturalWidth > 0")
    assert "chart cook=c1&cook=c2&unit=F" in seen.site.logbook.asked
    headers = page.locator("thead th")
    expect(headers).to_have_text(
        ["ASat 9 May 2026Willow Creek", "BSat 6 Jun 2026the pier at Eastmoor"]
    )
    for label, values in (
        ("Grate as the first went on, °F", ["–", "549"]),
        ("Left: on the grate, min:s", ["9:20", "9:06"]),
        ("Left: from the call to off, s", ["11", "6"]),
    ):
        cells = page.locator("tr").filter(has_text=label).locator("td")
        expect(cells).to_have_text(values)
    headers.nth(1).get_by_role("link").click()
    expect(heading(seen)).to_have_text("One cook")
    assert seen.complaints == []


def test_a_chart_that_does_not_come_leaves_the_figures_and_says_so(visit: Open) -> None:
    def no_chart(page: Page) -> None:
        page.route("**/comparison/chart*", lambda route: route.abort())

    seen = open_logbook(visit, "#compare=c1,c2", before=no_chart)
    expect(seen.page.locator(".picture")).to_have_text(
        "The chart could not be drawn: the table has the figures."
    )
    expect(seen.page.locator("tbody tr")).to_have_count(5)


def test_each_lesson_says_what_is_in_force_and_another_figure_is_one_tap(visit: Open) -> None:
    seen = open_logbook(visit, "#learned")
    page = seen.page
    expect(page.get_by_text("counts from the next cook")).to_be_visible()
    lesson = page.get_by_role("region", name="Carry-over")
    # 2.8 and 2.6 C are differences: 5.0 and 4.7 F, without the 32.
    expect(lesson).to_contain_text("In force: 5.0\xa0°F, the default")
    expect(lesson).to_contain_text("From your 2 cooks: 4.7 F, not in use")
    lesson.get_by_role("button", name="Learned").click()
    expect(lesson).to_contain_text("In force: 4.7\xa0°F, learned from your cooks")
    expect(lesson.get_by_role("button", name="Learned")).to_have_attribute("aria-pressed", "true")
    expect(lesson.get_by_role("button", name="Learned")).to_be_focused()
    lesson.locator("summary").click()
    expect(lesson.locator("tbody tr").nth(1)).to_have_text("Sat 6 Jun 2026Left5.0\xa0°F80 %")
    grill = page.get_by_role("region", name="The grill")
    # A level of heat, so with the 32: 250 C is 482 F. It is no figure that one could give.
    expect(grill).to_contain_text("In force: 482\xa0°F, the default until your cooks teach one")
    expect(grill.get_by_role("button")).to_have_text(["Default 482\xa0°F", "Learned"])
    expect(page.get_by_role("region", name="How the forecasts did")).to_contain_text("7 times of 8")
    for key, sure, said, mode in (
        ("Reset all", "Tap again: all by default", "Every figure is the default", "default"),
        ("All as learned", "Tap again: as learned", "Every figure is as taught", "learned"),
    ):
        page.get_by_role("button", name=key).click()
        page.wait_for_timeout(550)  # two taps at once would count as one
        page.get_by_role("button", name=sure).click()
        expect(page.locator("#said")).to_contain_text(said)
        assert {one["mode"] for one in seen.site.logbook.lessons} == {mode}
        expect(page.get_by_role("button", name=key)).to_have_count(0)
    assert seen.complaints == []


def test_ones_own_figure_lies_between_least_and_most(visit: Open) -> None:
    seen = open_logbook(visit, "#learned")
    lesson = seen.page.get_by_role("region", name="Carry-over")
    lesson.get_by_role("button", name="Own").click()
    entry = lesson.get_by_label("Your own, between 0.0\xa0°F and 14.4\xa0°F")
    expect(entry).to_be_focused()
    for wrong in ("99", "-1", "hot", ""):
        entry.fill(wrong)
        entry.press("Enter")
        expect(lesson.get_by_role("alert")).to_contain_text("Write a number between 0.0")
    assert seen.site.logbook.written == []
    entry.fill("4,5")
    entry.press("Enter")
    expect(lesson).to_contain_text("In force: 4.5\xa0°F, your own")
    expect(lesson.get_by_role("alert")).to_be_hidden()
    (sent,) = seen.site.logbook.written
    assert sent == {"lesson": "carry_over", "mode": "own", "value": pytest.approx(2.5)}
    minutes = seen.page.get_by_role("region", name="Heating the grate")
    expect(minutes).to_contain_text("In force: 25.0\xa0min, your own")
    expect(minutes.get_by_label("between 2.0\xa0min and 90.0\xa0min")).to_have_value("25.0")
    minutes.get_by_role("textbox").fill("22")
    minutes.get_by_role("button", name="Use it").click()
    expect(minutes).to_contain_text("In force: 22.0\xa0min, your own")
    assert seen.site.logbook.written[1]["value"] == 1320
    seen.site.logbook.refusal = "The disk is full: make room, then choose again."
    lesson.get_by_role("button", name="Default").click()
    expect(lesson.get_by_role("alert")).to_have_text(seen.site.logbook.refusal)
