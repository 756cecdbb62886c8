"""How the way from a site to the broker is, as metric families."""

from __future__ import annotations

from collections.abc import Iterator

from prometheus_client.core import (
    CounterMetricFamily,
    GaugeMetricFamily,
    Metric,
    StateSetMetricFamily,
)

from pullcall.bus.status import BusState, BusStatus


def bridge_families(status: BusStatus) -> Iterator[Metric]:
    """Everything that the process which publishes has told."""
    states = {str(state): status.state is state for state in BusState}
    text = "How the site's way to the broker is."
    yield StateSetMetricFamily("pullcall_bridge_broker", text, states)
    text = "Records of the log that the broker has not confirmed."
    yield GaugeMetricFamily("pullcall_bridge_waiting_records", text, status.records_waiting)
    text = "Calls that were never sent because they would have misled."
    yield CounterMetricFamily("pullcall_bridge_dropped_calls", text, status.calls_dropped)
    text = "Calls that were sent, but not known to be at the broker in time."
    yield CounterMetricFamily("pullcall_bridge_unconfirmed_calls", text, status.calls_unconfirmed)
    text = "Records of the log that are too large to be published."
    yield CounterMetricFamily("pullcall_bridge_oversized_records", text, status.records_too_large)
    text = "Messages that were published."
    yield CounterMetricFamily("pullcall_bridge_messages", text, status.published)
    text = "Connections to the broker that were made again."
    yield CounterMetricFamily("pullcall_bridge_reconnects", text, status.reconnects)
    text = "Starts of the process that publishes, after its first."
    yield CounterMetricFamily("pullcall_bridge_restarts", text, status.restarts)
