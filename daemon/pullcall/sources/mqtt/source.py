"""Probes that gateways pass on: keeps the process that listens, and judges what it tells.

Nothing of MQTT is imported here: whatever a broker or a gateway does stays in that process.
"""

from __future__ import annotations

import asyncio
import logging
import sys
from asyncio.subprocess import Process
from collections.abc import Sequence

from pullcall.bus.child import start, write_line
from pullcall.bus.patience import Patience
from pullcall.clock import Clock, RealClock
from pullcall.mistakes import Mistakes
from pullcall.sources.mqtt.gateways import Gateways
from pullcall.sources.mqtt.options import MqttOptions, orders_line
from pullcall.sources.mqtt.told import parse_line
from pullcall.sources.sink import AdapterStatus, ProbeStatus, Sink

_log = logging.getLogger(__name__)

COMMAND = (sys.executable, "-m", "pullcall.sources.mqtt")
#: A process that says nothing for this long is stuck, seconds; it tells how it is each second.
_SILENT_S = 15.0
#: The waits before it is started again, and what was a life, seconds.
_FIRST_WAIT_S, _LONGEST_WAIT_S, _LIVED_S = 1.0, 30.0, 60.0


class MqttSource:
    """Reads every declared probe until cancelled.

    Readings are stamped with ``clock`` as their line is read. How long a probe may be silent is
    counted on ``life``, the machine's own clock, as for Bluetooth. Nothing raises out of
    :meth:`run` but its cancellation.
    """

    def __init__(
        self,
        options: MqttOptions,
        clock: Clock,
        *,
        life: Clock | None = None,
        command: Sequence[str] = COMMAND,
    ) -> None:
        self._orders = orders_line(options)
        self._clock = clock
        self._life = life or RealClock()
        self._command = command
        self._gateways = Gateways(options)
        self._mistakes = Mistakes(_log, "The listener to gateways has a mistake in it.")

    def probes(self) -> tuple[ProbeStatus, ...]:
        """Every channel, in the order of the declarations, then by device and number."""
        return self._gateways.statuses(self._life.monotonic())

    def adapter(self) -> AdapterStatus | None:
        """There is none."""
        return None

    def cut_off(self) -> str:
        """Why nothing can come now, as half a sentence."""
        return "" if self._gateways.is_open else "The broker is not reached"

    async def run(self, sink: Sink) -> None:
        """Deliver readings to ``sink`` until cancelled; the process is gone then."""
        patience = Patience(_FIRST_WAIT_S, _LONGEST_WAIT_S, _LIVED_S)
        while True:
            began = self._life.monotonic()
            fault = await self._supervised(sink)
            ended = self._life.monotonic()
            sentence = f"The process that listens to gateways {fault}: it is started again."
            _log.warning("%s", sentence)
            self._gateways.way_is_shut(sentence)
            await self._life.sleep_until(ended + patience.next(ended - began))

    async def _supervised(self, sink: Sink) -> str:
        """As below; a mistake in taking what is told is a fault like any other."""
        try:
            return await self._one_process(sink)
        except Exception as exc:
            return self._mistakes.fault(exc)

    async def _one_process(self, sink: Sink) -> str:
        """Start it and listen to it until it ends or is stuck; gives what was wrong."""
        try:
            process = await start(self._command)
        except OSError as exc:
            return f"could not be started ({exc.strerror})"
        try:
            return await self._hear(process, sink)
        finally:
            await process.end()

    async def _hear(self, process: Process, sink: Sink) -> str:
        assert process.stdout is not None
        try:
            await write_line(process, self._orders, _SILENT_S)
            while line := await self._line(process.stdout):
                self._take(line, sink)
                await asyncio.sleep(0)  # what is in the pipe must not hold up anything else
        except TimeoutError:
            return f"said nothing for {_SILENT_S:.0f} s"
        except (OSError, ValueError) as exc:
            return f"is not understood ({exc})"
        return "ended"

    async def _line(self, lines: asyncio.StreamReader) -> bytes:
        """The next one. Raises TimeoutError, and ValueError for one that is too long."""
        async with asyncio.timeout(_SILENT_S):
            return await lines.readline()

    def _take(self, line: bytes, sink: Sink) -> None:
        at, now = self._clock.monotonic(), self._life.monotonic()
        for reading in self._gateways.take(parse_line(line), at, now):
            sink.reading(reading)
