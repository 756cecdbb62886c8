"""The list of all cooks: what it tells of each, finding, choosing, and tables to take away."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, expect

from tests.page.open_logbook import heading, open_logbook
from tests.page.patience import becomes
from tests.page.visit import Open

pytestmark = pytest.mark.integration


def test_the_menu_of_the_cook_page_leads_to_the_logbook_and_back(visit: Open) -> None:
    seen = visit(at=80)
    seen.page.get_by_role("button", name="Menu").click()
    seen.page.get_by_role("button", name="Logbook").click()
    expect(heading(seen)).to_have_text("Logbook")
    seen.page.get_by_role("link", name="← Cook").click()
    expect(seen.lane("Left")).to_be_visible()
    assert seen.complaints == []


def test_the_latest_cook_is_first_and_each_says_how_it_went(visit: Open) -> None:
    seen = open_logbook(visit)
    entries = seen.page.locator(".entry")
    expect(entries).to_have_count(4)
    expect(entries.nth(0)).to_contain_text("Sat 13 Jun 2026")
    expect(entries.nth(0)).to_contain_text("running")
    expect(entries.nth(0)).to_contain_text("pull 129 °F")
    expect(entries.nth(1)).to_contain_text("simulated")
    cup = entries.nth(2)
    # 54.3, 57.1, 54.0 and 56.8 C by F = C x 9/5 + 32.
    for words in (
        "129.7 → 134.8 °F",
        "129.2 → 134.2 °F",
        "Harbour Ribeye Cup, the pier at Eastmoor",
        "inside the window",
        "taste 8.5 · texture 9",
        "windy",
        "new grate",
    ):
        expect(cup).to_contain_text(words)
    expect(entries.nth(3)).to_contain_text("outside the window")
    expect(entries.nth(3)).to_contain_text("128.1 → – °F")
    assert seen.complaints == []
    assert seen.hosts == {f"127.0.0.1:{seen.port}"}


def test_a_reader_of_celsius_is_told_celsius_everywhere(visit: Open) -> None:
    def celsius(page: Page) -> None:
        page.add_init_script("localStorage.setItem('pullcall.unit', 'C')")

    seen = open_logbook(visit, before=celsius)
    expect(seen.page.locator(".entry").nth(2)).to_contain_text("54.3 → 57.1 °C")
    seen.page.get_by_role("link", name="Learned").click()
    expect(seen.page.get_by_role("region", name="Carry-over")).to_contain_text("Default 2.8\xa0°C")
    assert "°F" not in seen.page.locator("main").inner_text()


def test_words_find_cooks_and_stay_while_one_is_looked_at(visit: Open) -> None:
    seen = open_logbook(visit)
    find = seen.page.get_by_label("Find")
    find.fill("windy pier")
    expect(seen.page.locator(".entry")).to_have_count(1)
    expect(seen.page.locator(".count")).to_have_text("1 cook with “windy pier”")
    assert "cooks windy pier" in seen.site.logbook.asked
    link = seen.page.get_by_role("link", name="Sat 6 Jun 2026")
    link.click()
    expect(heading(seen)).to_have_text("One cook")
    expect(heading(seen)).to_be_focused()
    seen.page.get_by_role("link", name="← Logbook").click()
    expect(find).to_have_value("windy pier")
    expect(link).to_be_focused()
    find.fill("no such thing")
    expect(seen.page.locator(".count")).to_have_text("No cook has “no such thing” in it.")


def test_two_to_six_cooks_can_be_chosen_and_compared(visit: Open) -> None:
    seen = open_logbook(visit)
    compare = seen.page.locator(".bar a")
    expect(seen.page.locator(".bar")).to_be_hidden()
    seen.page.get_by_label("Compare Sat 9 May 2026").check()
    expect(seen.page.locator(".bar p")).to_have_text("1 chosen: choose one more")
    expect(compare).to_be_hidden()
    seen.page.get_by_label("Compare Sat 6 Jun 2026").check()
    expect(compare).to_be_visible()
    expect(seen.page.get_by_role("checkbox")).to_have_count(3)  # none of the cook that runs
    seen.page.get_by_label("Compare Wed 10 Jun 2026").check()
    seen.page.get_by_label("Compare Wed 10 Jun 2026").uncheck()
    compare.click()
    expect(heading(seen)).to_have_text("Side by side")
    wanted = "comparison cook=c1&cook=c2&unit=F"
    becomes(seen.page, lambda: wanted in seen.site.logbook.asked, True)


def test_the_tables_are_links_that_a_browser_keeps_as_files(visit: Open) -> None:
    seen = open_logbook(visit)
    tables = seen.page.get_by_role("region", name="All cooks as a table")
    for name, kind in (("CSV", "csv"), ("JSON Lines", "jsonl"), ("Parquet", "parquet"),
                       ("Schema", "schema")):  # fmt: skip
        with seen.page.expect_download() as download:
            tables.get_by_role("link", name=name, exact=True).click()
        assert download.value.suggested_filename == f"pullcall.{kind}"


def test_what_somebody_wrote_is_text_and_never_markup(visit: Open) -> None:
    trap = "<img src=x onerror=alert(1)><b>bold</b>"
    seen = open_logbook(visit)
    for row in seen.site.logbook.rows:
        row.update(place=trap, contest=trap, tags=[trap], scores={trap: trap}, notes=trap)
    seen.page.reload()
    expect(seen.page.locator(".where").first).to_have_text(f"{trap}, {trap}")
    expect(seen.page.locator(".tags").first).to_have_text(trap)
    assert seen.page.locator("main img, main .where b, main .tags b, main .scores b").count() == 0
    assert seen.complaints == []
