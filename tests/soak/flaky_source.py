"""A source that loses, spoils or stops what another delivers, and keeps what was really there."""

from __future__ import annotations

import asyncio
import json
from pathlib import Path

from pullcall.clock import Clock
from pullcall.sources.sink import AdapterStatus, ChannelReading, ProbeStatus, Sink, Source

#: A spoiled reading is off by so much, Celsius.
SPIKE_C = 18.0


class FlakySource:
    """Stands between a source and the site. Times are those of ``clock``, which the source's
    readings have, too.

    Each line of ``tape`` is ``[at, channel, Celsius as it was, what came of it]``, the last being
    "same", "lost" or "spoiled".
    """

    def __init__(self, source: Source, clock: Clock, tape: Path) -> None:
        self._source = source
        self._clock = clock
        self._tape = tape.open("a", encoding="utf-8", buffering=1 << 16)
        self._silent_until: dict[str, float] = {}
        self._spikes: set[str] = set()
        self._stop: asyncio.Event | None = None
        self._sink: Sink | None = None
        self._kitchen: asyncio.Task[None] | None = None

    async def run(self, sink: Sink) -> None:
        """As the source; ends by a mistake where it was told to. The kitchen behind it goes on."""
        if self._kitchen is None:
            self._kitchen = asyncio.create_task(self._source.run(self), name="kitchen")
        self._sink, self._stop = sink, asyncio.Event()
        try:
            await self._stop.wait()
            raise RuntimeError("a mistake, made on purpose")
        finally:
            self._sink = None

    def reading(self, reading: ChannelReading) -> None:
        """Pass a value on, unless it is lost."""
        fate = "same"
        if self._sink is None or self._silent_until.get(reading.channel, 0.0) > reading.at:
            fate = "lost"
        elif reading.channel in self._spikes:
            self._spikes.discard(reading.channel)
            fate = "spoiled"
        line = [reading.at, reading.channel, reading.celsius, fate]
        self._tape.write(json.dumps(line) + "\n")
        if fate == "lost" or self._sink is None:
            return
        off = SPIKE_C if fate == "spoiled" else 0.0
        self._sink.reading(ChannelReading(reading.channel, reading.celsius + off, reading.at))

    def silence(self, channel: str, seconds: float) -> None:
        """Lose what this channel says for so long."""
        self._silent_until[channel] = self._clock.monotonic() + seconds

    def spoil(self, channel: str) -> None:
        """Spoil this channel's next value."""
        self._spikes.add(channel)

    def stop(self) -> None:
        """End :meth:`run` by a mistake."""
        if self._stop is not None:
            self._stop.set()

    def close(self) -> None:
        """Close the kitchen and finish the tape."""
        if self._kitchen is not None:
            self._kitchen.cancel()
        self._tape.close()

    def probes(self) -> tuple[ProbeStatus, ...]:
        """See Source."""
        return self._source.probes()

    def adapter(self) -> AdapterStatus | None:
        """See Source."""
        return self._source.adapter()
