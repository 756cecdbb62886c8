"""What a page gets back for its ping."""

from __future__ import annotations

import json

import pytest

from pullcall.api.routes.stream import pong


def test_a_ping_gets_its_number_and_the_time_back() -> None:
    assert pong({"type": "ping", "n": 7}, 12.34567) == {"type": "pong", "n": 7, "t": 12.346}


@pytest.mark.parametrize(
    "n", ["NaN", "Infinity", "1" * 4000, '"x"', "[" * 900 + "]" * 900, "true", "null"]
)
def test_what_is_no_number_does_not_come_back(n: str) -> None:
    """Some of it could not be written, and nobody needs a copy of what they sent."""
    assert pong(json.loads(f'{{"type":"ping","n":{n}}}'), 1.0)["n"] is None
