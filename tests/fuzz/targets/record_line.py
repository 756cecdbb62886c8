"""Records of a log on their way to the broker: a log that was imported holds whatever was sent."""

from __future__ import annotations

from datetime import UTC, datetime

from pullcall.bus.cook_clock import CookClock
from pullcall.bus.following import Following
from tests.fuzz.target import Target

_NOW = datetime(2026, 6, 13, 14, 0, tzinfo=UTC)


def check(data: bytes) -> None:
    """Every line is sent as it is, marked as late or not."""
    line = data.decode("utf-8", "replace")
    following = Following("north", {"old": 3})
    following.runs("c", CookClock(0.0, 100.0, 1.0))
    for cook in ("c", "old"):
        sent = following.publication(cook, 4, line, 101.0, _NOW)
        assert sent.payload == line.encode()
        assert ("late", "1") in sent.user or cook == "c" or "wall" in line


TARGET = Target(
    check,
    (
        b'{"record":"reading","t":1.5,"steak":"left","celsius":5.0}',
        b'{"record":"note","wall":"2026-06-13T13:59:59+00:00","name":"place","value":"x"}',
        b'{"wall":"0001-01-01T00:00:00-23:59"}',
        b'{"t":1e999}',
        b'{"t":' + b"9" * 400 + b"}",
        b"[" * 1500,
    ),
    (b'"t":', b'"wall":', b"2026-06-13T14:00:00Z", b"9999-12-31", b"NaN"),
    longest=1600,
)
