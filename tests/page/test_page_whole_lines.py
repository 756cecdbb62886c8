"""No line of a lane is cut on the smallest phone: it is there whole, or not at all."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from tests.page.patience import becomes, pass_time
from tests.page.visit import Open

pytestmark = pytest.mark.integration

SMALL = (320, 568)
MORE = {
    "aim_c": {"p10": 52.0, "p50": 52.8, "p90": 53.5},
    "note": "Just turned: the forecast settles in half a minute.",
}
#: Visible lines that reach out of the part of the lane that holds them, or over its neighbours.
CUT = """(() => [...document.querySelectorAll(".lane")].flatMap((lane) => {
  const face = lane.querySelector(".face").getBoundingClientRect();
  const foot = lane.querySelector(".keys").getBoundingClientRect().top;
  const lines = ["label", "digits", "pull", "spread", "core", "rise", "peak", "aim", "why",
    "flagged"];
  const cut = lines.map((name) => lane.querySelector("." + name)).filter((node) => {
    const box = node.getBoundingClientRect();
    if (!box.height || !node.textContent) return false;
    return box.bottom > face.bottom + 0.5 || box.bottom > foot + 0.5 || box.right > face.right + 0.5
      || node.scrollWidth > node.clientWidth + 1;
  });
  const asked = lane.querySelector(".asked").getBoundingClientRect();
  const isCut = asked.top < face.bottom - 0.5 || asked.bottom > foot + 0.5;
  if (asked.height && isCut) cut.push(lane.querySelector(".asked"));
  return cut.map((node) => `${lane.ariaLabel} ${node.className}: ${node.textContent}`);
}))()"""


@pytest.mark.parametrize("at", [105, 300, 400])
@pytest.mark.parametrize("state", ["cooking", "alarm", "lost", "asked"])
def test_what_a_low_lane_shows_is_whole(visit: Open, state: str, at: float) -> None:
    seen = visit(SMALL, at=at, more=MORE)
    seen.site.change_cook({"window": "14:00-14:30"})
    left = seen.lane("Left")
    expect(left.locator(".why")).to_contain_text("Just turned")
    if state == "alarm":
        seen.site.call("over", ["left"], "Left: 4 °F over, pull now")
        expect(left.locator(".flagged")).to_be_visible()
    if state == "lost":
        seen.site.silent = True
        expect(seen.page.locator("#notice")).to_contain_text("Link lost")
    if state == "asked":
        seen.site.propose(
            {"id": "p1", "t": at, "steak": "left", "mark": "flip", "happened": at - 12,
             "confirm_t": at + 20, "why": "the core fell"}
        )  # fmt: skip
        expect(left.locator(".asked")).to_be_visible()
    pass_time(seen.page)
    becomes(seen.page, lambda: seen.page.evaluate(CUT), [])
    expect(left.locator(".pull, .digits").first).to_be_visible()
    expect(left.locator(".core")).to_be_visible()


def test_where_there_is_room_no_line_goes(visit: Open) -> None:
    seen = visit(at=105, more=MORE)
    expect(seen.lane("Left").locator(".aim")).to_have_text("Pull 129 °F (127 °F reaches 135)")
    expect(seen.lane("Left").locator(".rise")).to_be_visible()


def test_times_before_the_start_are_never_negative(visit: Open) -> None:
    seen = visit(at=-90, cooking=False)
    seen.arm()
    expect(seen.page.locator(".cookclock")).to_have_text("since start –:––")
