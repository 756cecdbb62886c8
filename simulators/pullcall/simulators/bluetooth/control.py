"""The control channel's client: one method per thing that can happen to a virtual probe."""

from __future__ import annotations

import asyncio
import contextlib
import json
from collections.abc import AsyncIterator, Sequence
from dataclasses import asdict
from typing import Any, Self

from pullcall.errors import RefusedError, SourceError
from pullcall.simulators.bluetooth.probes import Probe

_GONE = "The virtual adapter has gone: start it again."


class Control:
    """Steers a virtual adapter in another process.

    Every method returns once the act is done there, and raises :class:`RefusedError` with the
    other side's reason where it was not. Calls may be made from several tasks.
    """

    def __init__(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        self._reader = reader
        self._writer = writer
        self._turn = asyncio.Lock()

    @classmethod
    @contextlib.asynccontextmanager
    async def open(cls, path: str) -> AsyncIterator[Self]:
        """Connect to the socket at ``path`` for the length of a block."""
        try:
            reader, writer = await asyncio.open_unix_connection(path)
        except OSError as exc:
            raise SourceError(f"no virtual adapter listens at {path}; start it first") from exc
        try:
            yield cls(reader, writer)
        finally:
            writer.close()
            with contextlib.suppress(OSError):
                await writer.wait_closed()

    async def request(self, do: str, **arguments: object) -> Any:
        """Send one request and return its result."""
        async with self._turn:
            line = json.dumps({"do": do, **arguments}) + "\n"
            try:
                self._writer.write(line.encode())
                await self._writer.drain()
                answer = await self._reader.readline()
            except OSError as exc:
                raise SourceError(_GONE) from exc
        if not answer:
            raise SourceError(_GONE)
        found = json.loads(answer)
        if not found["ok"]:
            raise RefusedError(found["error"])
        return found["result"]

    async def add(self, probe: Probe) -> None:
        """Bring one more probe within reach."""
        await self.request("add", probe=asdict(probe))

    async def remove(self, address: str) -> None:
        """Take a probe away for good."""
        await self.request("remove", address=address)

    async def set(self, address: str, channel: str, celsius: float | None) -> None:
        """Give one channel a temperature; None is unplugged."""
        await self.request("set", address=address, channel=channel, celsius=celsius)

    async def feed(self, values: Sequence[tuple[str, str, float | None]]) -> None:
        """Give many (address, channel, Celsius) at once."""
        await self.request("feed", values=list(values))

    async def drop(self, address: str) -> None:
        """Lose the link."""
        await self.request("drop", address=address)

    async def hang_connect(self, address: str, on: bool = True) -> None:
        """Leave Connect without an answer."""
        await self.request("hang_connect", address=address, on=on)

    async def hang_services(self, address: str, on: bool = True) -> None:
        """Bring links up and never find their services."""
        await self.request("hang_services", address=address, on=on)

    async def in_progress(self, address: str, times: int = 1) -> None:
        """Refuse the next connects as InProgress."""
        await self.request("in_progress", address=address, times=times)

    async def abort(self, address: str, times: int = 1) -> None:
        """Break the next connects as le-connection-abort-by-local."""
        await self.request("abort", address=address, times=times)

    async def silence(self, address: str, on: bool = True) -> None:
        """Keep the link (or the advert) and send nothing new."""
        await self.request("silence", address=address, on=on)

    async def filter_repeats(self, on: bool = True) -> None:
        """Hold back unchanged adverts unless duplicates were asked for."""
        await self.request("filter_repeats", on=on)

    async def send_packet(
        self, address: str, packet: bytes, characteristic: str | None = None
    ) -> None:
        """Send these bytes once, whatever they are."""
        await self.request(
            "send_packet", address=address, packet=packet.hex(), characteristic=characteristic
        )

    async def repeat(self, address: str) -> None:
        """Tell the values as they are once more."""
        await self.request("repeat", address=address)

    async def replay(self, address: str, back: int = 1) -> None:
        """Send the advert of ``back`` measurements ago again."""
        await self.request("replay", address=address, back=back)

    async def count_anew(self, address: str) -> None:
        """Number measurements from the start again."""
        await self.request("count_anew", address=address)

    async def set_battery(self, address: str, percent: int) -> None:
        """Set what its battery level reads."""
        await self.request("set_battery", address=address, percent=percent)

    async def swap_channels(self, address: str) -> None:
        """Exchange the places of its sensors."""
        await self.request("swap_channels", address=address)

    async def swap_names(self, one: str, other: str) -> None:
        """Exchange the names of two probes."""
        await self.request("swap_names", one=one, other=other)

    async def vanish(self, address: str) -> None:
        """Take the probe out of reach."""
        await self.request("vanish", address=address)

    async def come_back(self, address: str) -> None:
        """Bring the probe within reach again."""
        await self.request("return", address=address)

    async def orphan(self, address: str) -> None:
        """Have the probe connected already, and not advertising."""
        await self.request("orphan", address=address)

    async def hold_repeats(self, on: bool = True) -> None:
        """Hold back unchanged adverts even from clients that asked for them."""
        await self.request("hold_repeats", on=on)

    async def deafen(self) -> None:
        """Have the adapter hear nothing until a scan is started anew."""
        await self.request("deafen")

    async def adapter_off(self) -> None:
        """Switch the radio off."""
        await self.request("adapter_off")

    async def adapter_on(self) -> None:
        """Switch the radio on."""
        await self.request("adapter_on")

    async def adapter_remove(self) -> None:
        """Pull the adapter."""
        await self.request("adapter_remove")

    async def adapter_add(self) -> None:
        """Plug the adapter in again."""
        await self.request("adapter_add")

    async def bluetoothd_stop(self, *, tidy: bool = True) -> None:
        """End the Bluetooth service, with or without its goodbyes."""
        await self.request("bluetoothd_stop", tidy=tidy)

    async def bluetoothd_hang(self, on: bool = True) -> None:
        """Have the Bluetooth service answer nothing."""
        await self.request("bluetoothd_hang", on=on)

    async def bluetoothd_start(self) -> None:
        """Start the Bluetooth service afresh."""
        await self.request("bluetoothd_start")

    async def state(self) -> dict[str, Any]:
        """What stands now; see :meth:`VirtualAdapter.state`."""
        found: dict[str, Any] = await self.request("state")
        return found
