"""The panels over the lanes: spot entry, more marks, menu."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from tests.page.patience import holds
from tests.page.visit import PHONE, Open

pytestmark = pytest.mark.integration

SIZES = [PHONE, (320, 568), (844, 390), (568, 320)]


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize(
    ("opener", "keys"),
    [
        ("Left: enter a spot temperature", ".spotsheet button"),
        ("Left: more marks", ".sheet .grid button"),
        ("Menu", ".sheet .grid button"),
    ],
)
def test_the_keys_of_a_panel_are_whole_on_the_screen(
    visit: Open, size: tuple[int, int], opener: str, keys: str
) -> None:
    seen = visit(size, at=80)
    seen.page.get_by_role("button", name=opener).click()
    expect(seen.page.locator(keys).nth(4)).to_be_visible()

    def all_are_whole() -> None:
        for key in seen.page.locator(keys).all():
            box = key.bounding_box()
            assert box
            assert box["x"] >= 0
            assert box["x"] + box["width"] <= size[0]
            assert box["y"] + box["height"] <= size[1], key.inner_text()
            assert min(box["width"], box["height"]) >= (56 if 320 in size else 60)

    holds(seen.page, all_are_whole)


@pytest.mark.parametrize(("typed", "unit"), [("222", "F"), ("106", "C")])
def test_a_spot_beyond_the_limits_is_refused_before_it_is_sent(
    visit: Open, typed: str, unit: str
) -> None:
    seen = visit(at=200)
    if unit == "C":
        seen.page.get_by_role("button", name="Menu").click()
        seen.page.get_by_role("button", name="Unit:").click()
        seen.page.get_by_role("button", name="Close").click()
    seen.page.get_by_role("button", name="Left: enter a spot").click()
    for key in typed:
        seen.page.locator(".keypad").get_by_role("button", name=key, exact=True).click()
    seen.page.get_by_role("button", name="Take this spot").click()
    # -30 and 105 C are -22 and 221 F by the definition F = 1.8 C + 32.
    limits = {"F": "from -22 to 221 °F", "C": "from -30 to 105 °C"}
    expect(seen.page.locator(".refused")).to_contain_text(limits[unit])
    assert seen.site.spots == []
    seen.page.locator(".keypad").get_by_role("button", name="Clear").click()
    expect(seen.page.locator(".refused")).to_be_hidden()
    seen.page.get_by_role("button", name="Take this spot").click()
    expect(seen.page.locator(".sheet")).to_have_count(0)
    assert len(seen.site.spots) == 1


def test_a_spot_the_site_refuses_keeps_the_panel_open_with_the_sentence(visit: Open) -> None:
    seen = visit(at=200)
    problem = '{"title": "Conflict", "detail": "Put the left steak on first."}'
    seen.page.route("**/api/v1/spots", lambda route: route.fulfill(status=409, body=problem))
    seen.page.get_by_role("button", name="Left: enter a spot").click()
    seen.page.get_by_role("button", name="Take this spot").click()
    expect(seen.page.locator(".refused")).to_have_text("Put the left steak on first.")
    expect(seen.page.get_by_role("button", name="Take this spot")).to_be_visible()


def test_the_menu_sets_what_the_steaks_rest_on(visit: Open) -> None:
    seen = visit(at=80)
    seen.page.get_by_role("button", name="Menu").click()
    key = seen.page.get_by_role("button", name="Rest on:")
    expect(key).to_have_text("Rest on: rack")
    key.click()
    expect(key).to_have_text("Rest on: board")
    expect(seen.slot()).to_contain_text("Rest on: board")
    assert seen.site.cook["rest_on"] == "board"
    # Another phone puts it back; the panel that is open says so.
    seen.site.change_cook({"rest_on": "rack"})
    expect(key).to_have_text("Rest on: rack")


def test_a_changed_pull_temperature_is_confirmed(visit: Open) -> None:
    seen = visit(at=80)
    seen.page.get_by_role("button", name="Menu").click()
    expect(seen.page.locator(".pitches")).to_have_text("Left sounds low, right sounds high.")
    seen.page.get_by_role("button", name="Left steak: settings").click()
    seen.page.get_by_role("button", name="Left: pull at: more by 1").click()
    expect(seen.slot()).to_contain_text("Left: pull at 130.0 °F")
    # 130 F is 54.4 C by the definition F = 1.8 C + 32.
    assert round(seen.site.settings["left"]["pull_c"], 1) == 54.4


def test_an_undo_says_what_it_took_back(visit: Open) -> None:
    seen = visit(at=110)
    seen.lane("Left").locator("button.go").click()
    seen.page.get_by_role("button", name="Undo", exact=True).click()
    expect(seen.slot()).to_contain_text("Taken back: Left: turn")


def test_a_rise_of_nothing_has_no_sign(visit: Open) -> None:
    seen = visit(at=80)
    said = seen.page.evaluate(
        """async () => {
          const { Unit } = await import("/page/units.js");
          const unit = new Unit({ get: () => "F", set: () => {} });
          return [-0.01, 0.01, -1, 1].map((rise) => unit.sayRise(rise));
        }"""
    )
    # A rise of 1 C is a rise of 1.8 F by definition.
    assert said == ["0.0 °F/min", "0.0 °F/min", "−1.8 °F/min", "+1.8 °F/min"]
