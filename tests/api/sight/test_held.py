"""What waits for its time comes out as it went in, and takes little room until then."""

from __future__ import annotations

import asyncio
import json

from pullcall.api.sight.held import Held, Line


def reading(n: int) -> Line:
    text = json.dumps({"type": "reading", "seq": n, "t": float(n), "celsius": 48.2})
    return Line("reading", n, None, text)


SNAPSHOT = Line("snapshot", 7, "e1", '{"type":"snapshot","words":"32 °C, “now”"}', is_note=True)


def filled(held: Held, seconds: int) -> list[Line]:
    """Hold eight readings a second, and a snapshot each ten, each for ten minutes."""
    lines = []
    for n in range(seconds * 8):
        line = SNAPSHOT if n % 80 == 0 else reading(n)
        held.add(600.0 + n / 8, line)
        lines.append(line)
    return lines


def test_what_was_packed_comes_out_as_it_went_in_and_in_order() -> None:
    held = Held()
    lines = filled(held, 120)
    assert held.packed_bytes > 0
    assert list(held.taken(10_000.0)) == lines
    assert held.packed_bytes == 0


def test_nothing_comes_out_before_it_is_due() -> None:
    held = Held()
    lines = filled(held, 60)
    assert list(held.taken(599.9)) == []
    assert list(held.taken(630.0)) == lines[: 30 * 8 + 1]
    assert list(held.taken(10_000.0)) == lines[30 * 8 + 1 :]


def test_what_comes_in_while_a_block_comes_due_comes_after_it() -> None:
    held = Held()
    lines = filled(held, 20)
    first = list(held.taken(605.0))
    held.add(620.0, reading(9999))
    assert [*first, *held.taken(10_000.0)] == [*lines, reading(9999)]


def test_ten_minutes_take_a_fraction_of_their_text() -> None:
    held = Held()
    text = sum(len(line.text) for line in filled(held, 600))
    assert 0 < held.packed_bytes < text / 4
    assert not held.is_full


def test_much_at_once_is_packed_before_its_seconds_are_over() -> None:
    held = Held()
    for n in range(10_000):
        held.add(600.0, reading(n))
    assert held.packed_bytes > 0


def test_it_is_full_past_its_bound_and_has_room_once_something_came_out() -> None:
    held = Held(most_bytes=2000)
    n = 0
    while not held.is_full:
        held.add(600.0 + n / 8, reading(n))
        n += 1
    assert held.packed_bytes > 2000
    assert len(list(held.taken(10_000.0))) == n
    assert not held.is_full


async def test_who_waits_for_the_next_is_told_when_it_is_due_as_soon_as_it_comes() -> None:
    held = Held()
    waiting = asyncio.create_task(held.next_due())
    await asyncio.sleep(0)
    held.add(12.5, reading(1))
    async with asyncio.timeout(60):
        assert await waiting == 12.5
