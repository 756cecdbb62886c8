"""Who may open the logbook, what it says while a cook runs, and what is left of it offline."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from tests.page.fake_access import Access
from tests.page.open_logbook import heading, open_logbook
from tests.page.patience import pass_time
from tests.page.visit import Open

pytestmark = pytest.mark.integration
ACTIVE = (
    "navigator.serviceWorker.getRegistration().then((one) => one?.active?.state === 'activated')"
)


def test_a_watcher_is_told_why_and_asks_for_nothing(visit: Open) -> None:
    seen = open_logbook(visit, "#cook=c2", role="watcher")
    expect(seen.page.locator("main")).to_contain_text("This phone only watches.")
    pass_time(seen.page, 500)
    assert seen.site.logbook.asked == []
    assert seen.site.access.overreached == []
    seen.page.get_by_role("link", name="Back to the cook").click()
    expect(seen.lane("Left")).to_be_visible()


def test_a_phone_that_is_not_paired_or_not_any_more_is_led_to_the_door(visit: Open) -> None:
    access = Access(guarded=True)
    seen = visit(path="/logbook", access=access)
    expect(seen.page.locator("#door")).to_be_visible()
    seen = open_logbook(visit)
    expect(seen.page.locator(".entry")).to_have_count(4)
    seen.site.access.pairings.clear()
    seen.page.get_by_label("Find").fill("x")
    expect(seen.page.locator("#door")).to_be_visible()


def test_while_meat_is_on_a_strip_says_that_nothing_sounds_here_and_leads_back(
    visit: Open,
) -> None:
    seen = open_logbook(
        visit, cooking=True, at=80, before=lambda page: page.clock.install(), alone=True
    )
    strip = seen.page.get_by_role("navigation", name="The cook that runs")
    expect(strip).to_contain_text("A cook is running, and this page sounds no calls.")
    seen.site.call("pull_now", ["left"], "Left: pull now")
    seen.page.clock.run_for(5100)
    expect(strip.get_by_role("alert")).to_have_text("Left: pull now")
    seen.site.silent = True
    seen.page.clock.run_for(5100)
    expect(strip).to_contain_text("The site does not answer")
    seen.site.silent = False
    strip.get_by_role("link", name="Back to it").click()
    expect(seen.lane("Left")).to_be_visible()


def test_without_meat_there_is_no_strip(visit: Open) -> None:
    seen = open_logbook(visit)
    expect(seen.page.locator(".entry")).to_have_count(4)
    expect(seen.page.locator("#strip")).to_be_hidden()


def test_offline_the_page_says_so_and_goes_on_when_the_site_answers(visit: Open) -> None:
    seen = open_logbook(visit, worker=True)
    seen.until(ACTIVE)
    seen.site.silent = True
    seen.page.reload()
    expect(heading(seen)).to_have_text("Logbook")
    expect(seen.page.locator("main")).to_contain_text("it comes by itself when the site answers")
    seen.site.silent = False
    # Where it has just come by itself, the key is gone.
    key = seen.page.get_by_role("button", name="Try again")
    key.evaluate_all("(keys) => keys.forEach((key) => key.click())")
    expect(seen.page.locator(".entry")).to_have_count(4)


def test_a_list_that_did_not_come_can_be_asked_for_again(visit: Open) -> None:
    seen = open_logbook(visit)
    seen.site.silent = True
    seen.page.get_by_label("Find").fill("pier")
    expect(seen.page.get_by_role("alert")).to_be_visible()
    seen.site.silent = False
    seen.page.get_by_role("button", name="Try again").click()
    expect(seen.page.locator(".entry")).to_have_count(1)
    expect(seen.page.get_by_role("alert")).to_be_hidden()
