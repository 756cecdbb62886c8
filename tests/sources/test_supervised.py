"""Why nothing comes by a way, whatever kind of source it is."""

from __future__ import annotations

import pytest

from pullcall.clock import RealClock
from pullcall.sources.sink import AdapterState, AdapterStatus, LinkState, ProbeStatus, Sink
from pullcall.sources.supervised import Supervised
from pullcall.supervision import Edges


class Radio:
    """A source with an adapter."""

    state = AdapterState.OK

    async def run(self, sink: Sink) -> None:
        """It is not run here."""

    def probes(self) -> tuple[ProbeStatus, ...]:
        return (ProbeStatus("p/1", "p", "p", "simulated", LinkState.STREAMING),)

    def adapter(self) -> AdapterStatus | None:
        return AdapterStatus("hci0", self.state, "Do something.")


class Gateway(Radio):
    """A source that hears through a broker."""

    def cut_off(self) -> str:
        return "The broker is not reached"


@pytest.mark.parametrize(
    ("state", "trouble"),
    [
        (AdapterState.OK, ""),
        (AdapterState.RESTARTED, ""),
        (AdapterState.OFF, "Bluetooth is off"),
        (AdapterState.MISSING, "Bluetooth is gone"),
        (AdapterState.STUCK, "Bluetooth is stuck"),
    ],
)
def test_an_adapter_that_cannot_be_used_is_the_cause(state: AdapterState, trouble: str) -> None:
    radio = Radio()
    radio.state = state
    way = Supervised(radio, Edges(RealClock()).edge("probes 1")).way()
    assert (way.channels, way.trouble) == (frozenset({"p/1"}), trouble)


def test_a_source_without_an_adapter_tells_it_itself() -> None:
    way = Supervised(Gateway(), Edges(RealClock()).edge("probes 1")).way()
    assert way.trouble == "The broker is not reached"
