"""One source under supervision: its failures stay its own."""

from __future__ import annotations

from dataclasses import replace

from pullcall.sources.sink import (
    AdapterState,
    AdapterStatus,
    Counted,
    LinkCounts,
    ProbeStatus,
    Relayed,
    Sink,
    Source,
    Way,
)
from pullcall.supervision import Edge

_TROUBLES = {
    AdapterState.OFF: "Bluetooth is off",
    AdapterState.MISSING: "Bluetooth is gone",
    AdapterState.STUCK: "Bluetooth is stuck",
}


class Supervised:
    """Offers what a source offers; whatever the source raises is logged, noted and kept here."""

    def __init__(self, source: Source, edge: Edge) -> None:
        self._source = source
        self._edge = edge

    async def run(self, sink: Sink) -> None:
        """Run the source until cancelled; one that ends is started again, each time later."""
        await self._edge.keep(lambda: self._source.run(sink))

    def probes(self) -> tuple[ProbeStatus, ...]:
        """See :class:`Source`; none while it cannot tell."""
        return self._edge.guard(self._source.probes) or ()

    def adapter(self) -> AdapterStatus | None:
        """See :class:`Source`; while the source does not run, that is what is wrong with it."""
        status = self._edge.guard(self._source.adapter)
        if status is None or not self._edge.note:
            return status
        return replace(status, state=AdapterState.STUCK, note=self._edge.note)

    def links(self) -> tuple[LinkCounts, ...]:
        """See :class:`Counted`; none where the source does not count."""
        source = self._source
        return (self._edge.guard(source.links) or ()) if isinstance(source, Counted) else ()

    def way(self) -> Way:
        """The way that its readings come by."""
        return Way(frozenset(probe.channel for probe in self.probes()), self._cut_off())

    def _cut_off(self) -> str:
        source = self._source
        if self._edge.note:
            return f'The part "{self._edge.name}" does not go'
        if isinstance(source, Relayed):
            return self._edge.guard(source.cut_off) or ""
        adapter = self._edge.guard(source.adapter)
        return "" if adapter is None else _TROUBLES.get(adapter.state, "")
