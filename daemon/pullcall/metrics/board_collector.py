"""What a board counted, as metric families. docs/metrics.md says what each is good for."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping

from prometheus_client.core import (
    CounterMetricFamily,
    GaugeMetricFamily,
    Metric,
    StateSetMetricFamily,
)
from prometheus_client.registry import Collector

from pullcall.board.board import Board
from pullcall.board.subscriber import BrokerState
from pullcall.metrics.streams import streams_family


class BoardCollector(Collector):
    """Reads a board at a scrape, on the board's own event loop; ``streams()`` as of a site."""

    def __init__(self, board: Board, streams: Callable[[], Mapping[str, int]]) -> None:
        self._board = board
        self._streams = streams

    def collect(self) -> Iterable[Metric]:
        """Every family, in the order of the documentation."""
        roster = self._board.roster
        text = "Sites that the board has heard of, by how they are."
        sites = GaugeMetricFamily("pullcall_board_sites", text, labels=["state"])
        for state, count in roster.sites_by_state(self._board.now()).items():
            sites.add_metric([state], count)
        yield sites
        text = "Messages that the board took from the broker."
        yield CounterMetricFamily("pullcall_board_messages", text, roster.messages)
        text = "Messages from the broker that could not be used."
        yield CounterMetricFamily("pullcall_board_refused_messages", text, roster.refused)
        text = "How the way to the broker is."
        name = "pullcall_board_broker"
        states = {str(state): self._board.broker.state is state for state in BrokerState}
        yield StateSetMetricFamily(name, text, states)
        yield streams_family(self._streams())
