"""What a page says through its websocket, where it resumes, and the id of its last event."""

from __future__ import annotations

import json

from pullcall.api.routes.stream import _message, _number, _resume
from pullcall.site.hub import Hub
from tests.fuzz.cards import Cards
from tests.fuzz.target import Target


def check(data: bytes) -> None:
    """A text; and a line each for an epoch and a number."""
    text = data.decode("utf-8", "replace")
    message = _message(text)
    assert isinstance(message, dict)
    answer = json.dumps({"type": "pong", "n": _number_of(message), "t": 1.5}, allow_nan=False)
    assert len(answer) < 200
    cards = Cards(data)
    epoch, since = (cards.line().decode("latin-1") for _ in range(2))
    hub = Hub(kept=3)
    for n in range(5):
        hub.publish("reading", {"n": n})
    for named in (epoch, hub.epoch):
        resumed, number = _resume({"epoch": named, "since": since})
        assert resumed == named and (number is None or 0 <= number < 10**15)
        missed = hub.missed(resumed, number)
        if missed is not None:
            assert named == hub.epoch and number is not None and 2 <= number <= 5
            assert len(missed) == 5 - number
    assert _number(since) == _resume({"since": since})[1]


def _number_of(message: dict[str, object]) -> object:
    from pullcall.api.routes.stream import pong

    return pong(message, 1.5)["n"]


TARGET = Target(
    check,
    (
        b'{"type":"ping","n":7}',
        b'{"type":"ping","n":' + b"[" * 900 + b"]" * 900 + b"}",
        b'{"type":"ping","n":NaN}',
        b'{"type":"ping","n":"\\ud800"}',
        b"x\n3",
        b"x\n999999999999999",
        b"x\n\xb2",
    ),
    (b'"type":', b'"ping"', b'"n":'),
    longest=2500,
)
