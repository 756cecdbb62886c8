"""Which call is posted next and which is dropped."""

from __future__ import annotations

from pullcall.outlets.post_queue import LONGEST, Post, PostQueue
from tests.outlets.ears import call


def post(id: str, priority: int, since: float) -> Post:
    return Post(call(id, priority=priority), b"{}", since)


def test_the_most_urgent_is_next_and_among_equals_the_oldest() -> None:
    queue = PostQueue()
    for number, priority in enumerate((3, 1, 2, 1)):
        queue.add(post(f"c{number}", priority, float(number)))
    order = []
    while (taken := queue.take()) is not None:
        order.append(taken.call.id)
    assert order == ["c1", "c3", "c2", "c0"]


def test_a_full_queue_drops_the_oldest_of_the_least_urgent() -> None:
    queue = PostQueue()
    queue.add(post("p3 old", 3, 0.0))
    queue.add(post("p3 new", 3, 1.0))
    for number in range(LONGEST - 2):
        assert queue.add(post(f"c{number}", 1, 2.0)) is None
    dropped = [queue.add(post(f"d{number}", 1, 3.0)) for number in range(3)]
    assert [d.call.id for d in dropped if d] == ["p3 old", "p3 new", "c0"]
    assert len(queue) == LONGEST
