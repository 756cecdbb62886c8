"""Times and temperatures on the page say what they count: seconds, minutes, degrees."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Route, expect

from tests.page.patience import holds
from tests.page.visit import Open, Visit

pytestmark = pytest.mark.integration


def test_a_countdown_is_seconds_below_a_minute_and_minutes_from_there_on(visit: Open) -> None:
    seen = visit(at=300)
    said = seen.page.evaluate(
        """async () => {
          const { band, countdown } = await import("/page/clock.js");
          return [0, 50.2, 59, 59.5, 88, 3661].map(countdown)
            .concat([[31, 52], [38, 64], [310, 400]].map(([low, high]) => band(low, high)));
        }"""
    )
    assert said == [
        "0 s",
        "51 s",
        "59 s",
        "1:00",
        "1:28",
        "61:01",
        "31–52 s",
        "0:38–1:04",
        "5:10–6:40",
    ]


@pytest.mark.parametrize("size", [(390, 844), (320, 568), (844, 390), (568, 320)])
def test_large_seconds_have_their_unit_beside_them_and_stay_whole(
    visit: Open, size: tuple[int, int]
) -> None:
    # 45.9 C to go at 0.095 C/s are 483 s.
    seen = visit(size, at=440, speed=0.1)  # time for a slow machine
    for mark, ago in (("turn", 300), ("flip", 200), ("turn", 100)):
        seen.site.take(mark, None, ago)
    digits = seen.lane("Left").locator(".digits")
    expect(digits).to_have_text(re.compile(r"^\d\d s$"))

    def they_are_whole() -> None:
        assert digits.evaluate("(e) => e.scrollWidth - e.clientWidth") <= 0

    holds(seen.page, they_are_whole)
    seen.page.evaluate("document.body.dataset.watching = ''")  # a watcher's are larger
    assert digits.evaluate("(e) => e.scrollWidth - e.clientWidth") <= 0
    expect(seen.lane("Left").locator(".peak")).to_have_text("Peak 135 °F (134–137)")
    expect(seen.lane("Left").locator(".spread")).to_have_text(re.compile(r"likely \d"))


def test_a_spot_is_said_as_it_was_typed_with_what_the_forecast_notes_of_it(visit: Open) -> None:
    seen = visit(at=300)
    seen.arm()
    seen.site.more = {"note": "just turned"}
    expect(seen.lane("Left").locator(".why")).to_have_text("Just turned")
    seen.lane("Left").get_by_role("button", name="enter a spot").click()
    for key in "45":
        seen.page.locator(".keypad").get_by_role("button", name=key, exact=True).click()
    expect(seen.page.locator(".spot output")).to_have_text("45 °F")
    seen.page.route("**/api/v1/spots", lambda route: _with_note(seen, route))
    seen.page.get_by_role("button", name="Take this spot").click()
    expect(seen.slot()).to_contain_text("Left: spot 45 °F, pull in")
    expect(seen.slot()).to_contain_text(". Spot not believed")
    assert seen.site.spots[-1]["celsius"] == pytest.approx((45 - 32) / 1.8)
    seen.page.get_by_role("button", name="Last marks").click()
    expect(seen.page.get_by_role("dialog")).to_contain_text("Left: spot 45 °F")


def _with_note(seen: Visit, route: Route) -> None:
    """The site takes a spot, and its forecast says something of it at once."""
    seen.site.more = {"note": "spot not believed: 54 °F off"}
    seen.site.send("forecast", **seen.site.forecast("left"))
    route.continue_()
