"""One cook of the logbook: the facts, what is written about it, and its end."""

from __future__ import annotations

import pytest
from playwright.sync_api import Locator, expect

from tests.page.open_logbook import go, heading, open_logbook
from tests.page.visit import Open, Visit

pytestmark = pytest.mark.integration


def _row(seen: Visit, label: str) -> Locator:
    return seen.page.locator("tr").filter(has=seen.page.get_by_role("rowheader", name=label))


def _save(seen: Visit) -> None:
    seen.page.get_by_role("button", name="Save", exact=True).click()


def test_the_facts_tell_of_each_steak_what_came_against_what_was_told(visit: Open) -> None:
    seen = open_logbook(visit, "#cook=c2")
    # 54.3 C off and 57.1 C peak are 129.7 and 134.8 F; their difference 2.8 C is 5.0 F, not 37.
    for label, words in (("Pulled at", "129.7 °F"), ("Carry-over measured", "+5 °F"),
                         ("Carry-over told", "+5 °F (3.8 to 6.5)"), ("Peak", "134.8 °F"),
                         ("Pull called to off", "6 s"),
                         ("Forecast 5 min before", "12 s sooner, in band"),
                         ("Forecast 3 min before", "4 s later, in band"),
                         ("Forecast 60 s before", "to the second, in band"),
                         ("Forecast 30 s before", "11 s sooner, outside its band")):  # fmt: skip
        expect(_row(seen, label).locator("td").first).to_have_text(words)
    expect(_row(seen, "Pull called to off").locator("td").nth(1)).to_have_text(
        "off before the call"
    )
    expect(seen.page.get_by_text("Grate 549 °F as the first steak went on")).to_be_visible()
    replay = seen.page.get_by_role("link", name="Replay")
    assert replay.get_attribute("href") == "./#replay=c2&from=logbook"
    assert seen.complaints == []
    with seen.page.context.expect_page() as opened:  # beside the logbook, which stays
        seen.page.get_by_role("link", name="Report", exact=True).click()
    expect(opened.value.get_by_role("heading", level=1)).to_have_text("A report")
    assert "report c2 F" in seen.site.logbook.asked


def test_facts_that_are_being_worked_out_are_asked_for_again_and_typing_is_left_alone(
    visit: Open,
) -> None:
    seen = open_logbook(visit, "#cook=c2", before=lambda page: page.clock.install(), alone=True)
    seen.site.logbook.works = 1000
    seen.page.reload()
    status = seen.page.locator(".working")
    expect(status).to_have_text("Being worked out…")
    seen.page.get_by_label("Place").fill("half typ")
    seen.site.logbook.works = 1
    for _ in range(2):
        seen.page.clock.run_for(2100)
        seen.page.wait_for_timeout(100)
    expect(_row(seen, "Peak")).to_contain_text("134.8 °F")
    expect(status).to_be_hidden()
    expect(seen.page.get_by_label("Place")).to_have_value("half typ")


def test_why_facts_could_not_be_worked_out_is_said(visit: Open) -> None:
    seen = open_logbook(visit)
    seen.site.logbook.trouble = "the log has no mark On."
    go(seen, "#cook=c2")
    expect(
        seen.page.get_by_text("could not be worked out: the log has no mark On.")
    ).to_be_visible()
    expect(seen.page.get_by_role("link", name="Replay")).to_be_visible()
    expect(seen.page.get_by_role("link", name="Report")).to_have_count(0)
    go(seen, "#cook=gone")
    expect(seen.page.get_by_role("alert").first).to_contain_text("No cook has this id")


def test_only_what_changed_is_written(visit: Open) -> None:
    seen = open_logbook(visit, "#cook=c2")
    page = seen.page
    bar = page.locator(".notesform .bar")
    expect(page.get_by_label("Contest")).to_have_value("Harbour Ribeye Cup")
    expect(bar).to_be_hidden()
    page.get_by_label("Place").fill("the old quay")
    page.get_by_label("Tags").fill(" windy,, cold ")
    page.get_by_label("Which steak was handed in").select_option("left")
    page.get_by_label("Photos").first.fill("pics/one.jpg\n\npics/two.jpg\n")
    right = page.get_by_role("group", name="Right")
    right.get_by_label("Weight, oz").fill("17")
    left = page.get_by_role("group", name="Left")
    expect(left.get_by_label("Weight, oz")).to_have_value("16.9")
    left.get_by_label("Notes").fill("")
    scores = page.get_by_role("group", name="Scores")
    scores.get_by_role("textbox", name="Score").first.fill("9,5")
    scores.get_by_role("button", name="Remove the score texture").click()
    scores.get_by_role("button", name="Add a score: look").click()
    expect(scores.get_by_role("textbox", name="Score").last).to_be_focused()
    page.keyboard.type("A minus")
    expect(bar).to_contain_text("9 changes, not saved yet")
    _save(seen)
    expect(page.locator("#said")).to_have_text("Saved")
    expect(bar).to_be_hidden()
    written = {(one["steak"], one["name"]): one["value"] for one in seen.site.logbook.written}
    assert written == {
        (None, "place"): "the old quay",
        (None, "tags"): ["windy", "cold"],
        (None, "handed_in"): "left",
        (None, "photos"): ["pics/one.jpg", "pics/two.jpg"],
        ("right", "weight_g"): pytest.approx(17 * 28.349523125, abs=0.05),  # avoirdupois ounce
        ("left", "notes"): None,
        (None, "score.taste"): 9.5,
        (None, "score.texture"): None,
        (None, "score.look"): "A minus",
    }
    assert seen.complaints == []


def test_a_save_that_failed_keeps_what_was_typed_over_a_reload_and_says_what_to_do(
    visit: Open,
) -> None:
    seen = open_logbook(visit, "#cook=c2")
    page = seen.page
    page.get_by_label("Place").fill("the old quay")
    seen.site.logbook.refusal = "This note is too long: shorten it."
    _save(seen)
    refused = page.locator(".notesform .refused")
    expect(refused).to_have_text("This note is too long: shorten it. What you typed is kept here.")
    seen.site.logbook.refusal = None
    seen.site.silent = True
    page.wait_for_timeout(400)  # two taps at once would count as one
    _save(seen)
    expect(refused).to_contain_text("save it when the link is back")
    seen.site.silent = False
    page.reload()
    expect(page.get_by_label("Place")).to_have_value("the old quay")
    _save(seen)
    expect(page.locator("#said")).to_have_text("Saved")
    assert [one["value"] for one in seen.site.logbook.written] == ["the old quay"]
    assert page.evaluate("Object.keys(sessionStorage)") == []
    expect(page.locator(".cookhead")).to_contain_text("the old quay")


def test_a_draft_can_be_dropped_and_a_score_without_a_name_is_not_sent(visit: Open) -> None:
    seen = open_logbook(visit, "#cook=c2")
    page = seen.page
    scores = page.get_by_role("group", name="Scores")
    scores.get_by_role("button", name="another category").click()
    scores.get_by_role("textbox", name="Score").last.fill("7")
    page.get_by_label("Place").fill("elsewhere")
    _save(seen)
    expect(page.locator(".notesform .refused")).to_contain_text("Name the category")
    page.get_by_role("button", name="Discard").click()
    expect(page.get_by_label("Place")).to_have_value("the pier at Eastmoor")
    expect(scores.get_by_role("textbox", name="Score")).to_have_count(2)
    expect(page.locator(".notesform .bar")).to_be_hidden()
    assert seen.site.logbook.written == []


def test_deleting_takes_two_taps_says_what_goes_and_spares_the_cook_that_runs(visit: Open) -> None:
    seen = open_logbook(visit, "#cook=c4")
    end = seen.page.get_by_role("region", name="Delete")
    expect(end).to_contain_text("This cook is running")
    expect(end.get_by_role("button")).to_have_count(0)
    expect(seen.page.get_by_role("link", name="Report")).to_have_count(0)
    expect(seen.page.get_by_text("worked out when the cook is over")).to_be_visible()
    go(seen, "#cook=c1")
    expect(end).to_contain_text("readings, marks, calls, notes and scores")
    end.get_by_role("button", name="Delete for good").click()
    assert len(seen.site.logbook.rows) == 4
    seen.page.wait_for_timeout(550)  # two taps at once would count as one
    end.get_by_role("button", name="Tap again: all of it goes").click()
    expect(heading(seen)).to_have_text("Logbook")
    expect(seen.page.locator("#said")).to_contain_text("Deleted: Sat 9 May 2026")
    expect(seen.page.locator(".entry")).to_have_count(3)


def test_a_hand_reads_the_notes_and_has_no_key_that_would_be_refused(visit: Open) -> None:
    seen = open_logbook(visit, "#cook=c2", role="hand")
    said = seen.page.locator(".said")
    for words in ("Coal lit <b>late</b>", "windy, new grate", "16.9", "thick end to the fire"):
        expect(said).to_contain_text(words)
    expect(seen.page.get_by_role("textbox")).to_have_count(0)
    expect(seen.page.get_by_role("button")).to_have_count(0)
    go(seen, "#learned")
    expect(seen.page.get_by_text("A cook's phone can choose the figures.")).to_be_visible()
    expect(seen.page.get_by_role("button")).to_have_count(0)
    go(seen, "#moving")
    expect(seen.page.get_by_role("link", name="Download a backup")).to_be_visible()
    expect(seen.page.locator("input")).to_have_count(0)
    assert seen.site.access.overreached == []
    assert seen.complaints == []
