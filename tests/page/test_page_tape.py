"""A tape played by the page's own modules: at any moment the board is the same, however reached."""

from __future__ import annotations

import random
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from tests.page.modules import page_of_modules
from tests.recorded import messages, of, short_recording

pytestmark = pytest.mark.integration

#: Decks on a clock of their own: `played` lets one run for a while, a beat after the other.
DECKS = """async (lines) => {
  const { Tape } = await import("/tape.js");
  const { Deck } = await import("/deck.js");
  const [head, ...rest] = lines;
  window.tape = new Tape(head);
  rest.forEach((one) => tape.add(one));
  window.deckOf = () => {
    const time = { ms: 0 };
    const deck = new Deck(tape, () => time.ms);
    deck.applied = 0;
    const apply = deck.board.apply.bind(deck.board);
    deck.board.apply = (message) => { deck.applied += 1; apply(message); };
    return Object.assign(deck, { time });
  };
  window.played = (deck, speed, until, beat = 200) => {
    deck.clock.run(speed);
    deck.play();
    const end = deck.time.ms + ((until - deck.clock.t()) / speed) * 1000;
    while (deck.time.ms < end) {
      deck.time.ms = Math.min(end, deck.time.ms + beat);
      deck.step();
    }
    return deck;
  };
  window.stateOf = ({ board }) =>
    JSON.stringify({ ...board, visitor: null, truth: null, apply: null });
}"""

CURVE = "(t) => { const deck = deckOf(); deck.seek(t); return deck.board.steak('left').curve; }"


@pytest.fixture(scope="module")
def page(browser: Browser) -> Page:
    """A page that has the modules and the tape, and nothing of the site."""
    page = page_of_modules(browser)
    page.evaluate(DECKS, messages(short_recording()))
    return page


@pytest.mark.parametrize("seed", range(4))
def test_the_board_is_the_same_however_one_got_to_a_moment(page: Page, seed: int) -> None:
    rng = random.Random(seed)
    there = round(rng.uniform(1.0, 399.0), 2) + 0.005
    others = [rng.uniform(-10.0, 500.0) for _ in range(5)]
    ways = page.evaluate(
        """([there, others, within]) => {
          const sought = (...moments) => {
            const deck = deckOf();
            moments.forEach((t) => deck.seek(t));
            return deck;
          };
          return {
            life: stateOf(played(deckOf(), 1, there)),
            fast: stateOf(played(deckOf(), 60, there)),
            forward: stateOf(sought(there)),
            back: stateOf(sought(1e9, there)),
            about: stateOf(sought(...others, there)),
            partly: stateOf(played(sought(within), 10, there)),
          };
        }""",
        [there, others, rng.uniform(0.0, there)],
    )  # fmt: skip
    assert len(ways["life"]) > 1000
    assert {name for name, state in ways.items() if state != ways["life"]} == set()


def test_at_sixty_times_life_no_message_is_skipped(page: Page) -> None:
    applied, there_are, state, end = page.evaluate(
        """() => {
          const deck = played(deckOf(), 60, tape.endsT);
          const end = deckOf();
          end.seek(tape.endsT);
          return [deck.applied, tape.messages.length - 1, stateOf(deck), stateOf(end)];
        }"""
    )
    assert applied == there_are, "but for the snapshot that it begins with"
    assert state == end


def test_the_messages_alone_lead_to_what_each_snapshot_says(page: Page) -> None:
    pairs: list[list[dict[str, Any]]] = page.evaluate(
        """() => {
          const pairs = [];
          const deck = deckOf();
          const of = ({ steaks, marks, spots, calls, schedule, fire, plan, proposals, cook }) => ({
            steaks: steaks.map(({ curve, forecast, ...one }) => ({ ...one,
              pull: forecast?.pull_in_s ?? null, core: forecast?.core_c ?? null })),
            marks: marks.map(({ id }) => id), spots: spots.map(({ id }) => id),
            calls: calls.slice(-5).map(({ id, state }) => [id, state]),
            schedule, fire, plan, proposals, cook,
          });
          for (; deck.next < tape.messages.length; deck.next += 1) {
            const message = tape.messages[deck.next];
            if (message.type !== "snapshot") deck.board.apply(message);
            else pairs.push([JSON.parse(JSON.stringify(of(deck.board))), of(message)]);
          }
          return pairs;
        }"""
    )  # fmt: skip
    assert len(pairs) == 7
    for made, told in pairs:
        assert made == told


def test_a_curve_is_every_reading_up_to_now(page: Page) -> None:
    read = of("reading", messages(short_recording()))
    left = [one for one in read if one["steak"] == "left"]
    for t in (45.0, 190.0, 399.0):
        curve = page.evaluate(CURVE, t)
        assert curve == [[m["t"], m["celsius"]] for m in left if m["t_rx"] <= t]


def test_the_clock_stands_at_the_end_and_begins_again_from_the_start(page: Page) -> None:
    at_end, playing, again = page.evaluate(
        """() => {
          const deck = deckOf();
          deck.seek(tape.endsT - 1);
          played(deck, 60, tape.endsT + 100);
          const [atEnd, isPlaying] = [deck.clock.t(), deck.clock.isPlaying];
          deck.play();
          return [atEnd === tape.endsT, isPlaying, deck.clock.t() === tape.startsT];
        }"""
    )
    assert (at_end, playing, again) == (True, False, True)


def test_a_call_just_passed_is_not_the_one_before_while_it_plays(page: Page) -> None:
    stops = [stop["t"] for stop in messages(short_recording())[0]["stops"]]
    still, running = page.evaluate(
        """(t) => {
          const deck = deckOf();
          deck.seek(t + 0.5);
          const still = deck.previous.t;
          deck.play();
          return [still, deck.previous?.t ?? null];
        }""",
        stops[0],
    )
    assert still == stops[0]
    assert running is None
