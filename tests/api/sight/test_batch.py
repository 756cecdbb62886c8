"""What a page is sent at one go."""

from __future__ import annotations

import json

from pullcall.api.sight.batch import events, frames, refreshed

READING = '{"type":"reading","seq":4,"celsius":50.0}'
TICKS = ['{"type":"tick","t":1.0}', '{"type":"tick","t":2.0}']


def test_what_waited_comes_with_one_tick_and_that_of_now() -> None:
    told = refreshed([TICKS[0], READING, TICKS[1]], lambda: 2.71)
    assert [json.loads(line).get("t") for line in told] == [2.71, None]


def test_without_a_tick_none_is_made_up() -> None:
    """Whoever relays for a site that is silent must not speak for it."""
    assert refreshed([READING], lambda: 9.0) == [READING]


def test_each_line_is_a_frame_of_its_own() -> None:
    """RFC 6455, 5.2: FIN and text, the length, no mask."""
    assert frames(["a", "bc"]) == b"\x81\x01a\x81\x02bc"


def test_each_line_is_an_event_with_its_number() -> None:
    sent = events("e", [READING, TICKS[0]])
    assert sent == f"id: e:4\ndata: {READING}\n\ndata: {TICKS[0]}\n\n"
