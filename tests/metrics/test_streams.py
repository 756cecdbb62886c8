"""Streams count while they are open."""

from __future__ import annotations

import pytest

from pullcall.metrics.streams import Streams, Transport


def test_a_stream_counts_until_it_ends_however_it_ends() -> None:
    streams = Streams()
    with streams.one(Transport.WEBSOCKET), streams.one(Transport.EVENTS):
        with pytest.raises(OSError), streams.one(Transport.EVENTS):
            assert streams.counts() == {"websocket": 1, "events": 2}
            raise OSError
        assert streams.counts() == {"websocket": 1, "events": 1}
    assert streams.counts() == {"websocket": 0, "events": 0}
