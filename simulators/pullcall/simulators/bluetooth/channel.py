"""The control channel's server: JSON lines on a unix socket, one answer to each request.

A request is ``{"do": "drop", "address": "02:..."}``; the answer ``{"ok": true, "result": null}``
or ``{"ok": false, "error": "what to do"}``.
"""

from __future__ import annotations

import asyncio
import contextlib
import inspect
import json
from collections.abc import AsyncIterator, Callable
from typing import Any

from pullcall.errors import PullcallError, RefusedError
from pullcall.simulators.bluetooth.adapter import VirtualAdapter
from pullcall.simulators.bluetooth.scenario import probe_from


@contextlib.asynccontextmanager
async def control_channel(adapter: VirtualAdapter, path: str) -> AsyncIterator[None]:
    """Listen at ``path`` for the length of a block."""
    acts = _acts(adapter)
    clients: set[asyncio.StreamWriter] = set()

    async def serve(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        clients.add(writer)
        with contextlib.suppress(ConnectionError):
            while line := await reader.readline():
                writer.write((json.dumps(await _answer(acts, line)) + "\n").encode())
                await writer.drain()
        clients.discard(writer)
        writer.close()

    server = await asyncio.start_unix_server(serve, path)
    try:
        yield
    finally:
        server.close()
        for writer in list(clients):
            writer.close()
        await server.wait_closed()


def _acts(adapter: VirtualAdapter) -> dict[str, Callable[..., Any]]:
    plain = (
        "remove set feed drop hang_connect hang_services in_progress abort silence repeat replay "
        "count_anew set_battery swap_channels swap_names filter_repeats hold_repeats vanish orphan "
        "deafen adapter_off adapter_on adapter_remove adapter_add bluetoothd_stop bluetoothd_hang "
        "bluetoothd_start state"
    )
    acts: dict[str, Callable[..., Any]] = {name: getattr(adapter, name) for name in plain.split()}
    acts["return"] = adapter.come_back
    acts["add"] = lambda probe: adapter.add(probe_from(probe))
    acts["send_packet"] = lambda address, packet, characteristic=None: adapter.send_packet(
        address, bytes.fromhex(packet), characteristic
    )
    return acts


async def _answer(acts: dict[str, Callable[..., Any]], line: bytes) -> dict[str, Any]:
    try:
        return {"ok": True, "result": await _act(acts, json.loads(line))}
    except PullcallError as exc:
        return {"ok": False, "error": str(exc)}
    except (ValueError, TypeError) as exc:
        return {"ok": False, "error": f"the request cannot be used: {exc}"}


async def _act(acts: dict[str, Callable[..., Any]], request: dict[str, Any]) -> Any:
    if not isinstance(request, dict) or request.get("do") not in acts:
        raise RefusedError(f'a request needs "do", one of {", ".join(sorted(acts))}')
    result = acts[request.pop("do")](**request)
    return await result if inspect.isawaitable(result) else result
