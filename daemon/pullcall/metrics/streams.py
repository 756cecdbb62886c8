"""The streams of pages that are open, by how they came."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from enum import StrEnum

from prometheus_client.core import GaugeMetricFamily


class Transport(StrEnum):
    """How a page is fed."""

    WEBSOCKET = "websocket"
    EVENTS = "events"


class Streams:
    """Counts them while they are open."""

    def __init__(self) -> None:
        self._open = Counter(dict.fromkeys(Transport, 0))

    def counts(self) -> dict[str, int]:
        """How many are open now."""
        return {str(transport): count for transport, count in self._open.items()}

    @contextmanager
    def one(self, transport: Transport) -> Iterator[None]:
        """One of them, for a block's length."""
        self._open[transport] += 1
        try:
            yield
        finally:
            self._open[transport] -= 1


def streams_family(counts: Mapping[str, int]) -> GaugeMetricFamily:
    """The family of a site or a board."""
    text = "Streams of pages that are open."
    family = GaugeMetricFamily("pullcall_streams", text, labels=["transport"])
    for transport, count in counts.items():
        family.add_metric([transport], count)
    return family
