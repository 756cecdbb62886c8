"""One kind of crowd, in a process of its own: connections that cost next to nothing to keep.

``python -m tests.bench.crowd_client '{"kind": "watchers", ...}'`` prints ``here N`` once all have
tried to come in, and after a line on its standard input what became of them, as JSON.
"""

from __future__ import annotations

import asyncio
import json
import ssl
import sys
from collections import Counter
from collections.abc import Coroutine
from dataclasses import dataclass, field
from ipaddress import IPv4Address
from typing import Any

#: Phones come from addresses of their own: those of this machine from here on.
_FIRST = int(IPv4Address("127.1.0.1"))
_PING, _CLOSE = 0x9, 0x8
#: Connections that begin at once: more would measure this process.
_AT_ONCE = 16
_PATIENCE_S = 30.0


@dataclass
class Crowd:
    """Whom to visit and how; what came of it."""

    kind: str
    port: int
    name: str
    count: int
    secrets: tuple[str, ...] = ()
    tls: bool = True
    one_address: bool = False
    first: int = 0
    bytes: int = 0
    ends: Counter[str] = field(default_factory=Counter)
    tasks: set[asyncio.Task[None]] = field(default_factory=set)

    def address(self, k: int) -> str:
        """Where visitor ``k`` comes from."""
        return str(IPv4Address(_FIRST + self.first + (0 if self.one_address else k)))

    def works(self, work: Coroutine[Any, Any, None]) -> None:
        """Do this beside everything else, until the end."""
        self.tasks.add(asyncio.create_task(work))


class Visitor(asyncio.Protocol):
    """A connection that answers pings, counts bytes and understands nothing."""

    def __init__(self, crowd: Crowd) -> None:
        self.crowd = crowd
        self.answer: asyncio.Future[bytes] | None = None
        self.gone = asyncio.get_running_loop().create_future()
        self._held = b""
        self._skip = 0
        self._is_socket = False

    def connection_made(self, transport: asyncio.BaseTransport) -> None:
        self.transport: asyncio.Transport = transport  # type: ignore[assignment]

    def connection_lost(self, exc: Exception | None) -> None:
        if self.answer is not None and not self.answer.done():
            self.answer.set_exception(ConnectionResetError())
            self.answer.exception()
        if not self.gone.done():
            self.gone.set_result(None)

    def data_received(self, data: bytes) -> None:
        self.crowd.bytes += len(data)
        if self._is_socket:
            self._frames(data)
            return
        self._held += data
        head, found, rest = self._held.partition(b"\r\n\r\n")
        if not found or self.answer is None or self.answer.done():
            return
        if head.startswith(b"HTTP/1.1 101"):
            self._is_socket, self._held = True, b""
            self.answer.set_result(b"101")
            self._frames(rest)
        elif len(rest) >= _length(head):
            self._held = b""
            self.answer.set_result(head + b"\r\n\r\n" + rest)

    async def ask(self, request: bytes) -> bytes:
        """Send a request, and wait for its answer."""
        self.answer = asyncio.get_running_loop().create_future()
        self.transport.write(request)
        async with asyncio.timeout(_PATIENCE_S):
            return await self.answer

    def _frames(self, data: bytes) -> None:
        buffer, i = self._held + data, self._skip
        self._held, self._skip = b"", 0
        while len(buffer) - i >= 2:
            header, size = _frame(buffer, i)
            if len(buffer) - i < header:
                break
            if buffer[i] & 15 == _PING:
                if len(buffer) - i < header + size:
                    break
                payload = buffer[i + header : i + header + size]
                self.transport.write(bytes([0x8A, 0x80 | size]) + bytes(4) + payload)
            i += header + size
        if i > len(buffer):
            self._skip = i - len(buffer)
        else:
            self._held = buffer[i:]


def _frame(buffer: bytes, i: int) -> tuple[int, int]:
    """How long the header and the payload of a frame are, bytes."""
    size = buffer[i + 1] & 127
    if size < 126:
        return 2, size
    more = 2 if size == 126 else 8
    return 2 + more, int.from_bytes(buffer[i + 2 : i + 2 + more], "big")


def _length(head: bytes) -> int:
    for line in head.lower().split(b"\r\n"):
        if line.startswith(b"content-length:"):
            return int(line.split(b":")[1])
    return 0


def _request(crowd: Crowd, method: str, path: str, body: Any = None, **headers: str) -> bytes:
    content = b"" if body is None else json.dumps(body).encode()
    lines = [f"{method} /api/v1/{path} HTTP/1.1", f"Host: {crowd.name}:{crowd.port}"]
    lines += [f"{name.replace('_', '-')}: {value}" for name, value in headers.items()]
    if method != "GET":
        lines += ["Content-Type: application/json", f"Content-Length: {len(content)}"]
    return "\r\n".join(lines).encode() + b"\r\n\r\n" + content


async def _connected(crowd: Crowd, k: int, tls: bool) -> Visitor:
    loop = asyncio.get_running_loop()
    async with asyncio.timeout(_PATIENCE_S):
        _, visitor = await loop.create_connection(
            lambda: Visitor(crowd),
            "127.0.0.1",
            crowd.port,
            ssl=_TLS if tls else None,
            server_hostname=crowd.name if tls else None,
            local_addr=(crowd.address(k), 0),
        )
    return visitor


def trusting() -> ssl.SSLContext:
    """The certificate is the site's own, and not what is measured."""
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    context.check_hostname, context.verify_mode = False, ssl.CERT_NONE
    return context


_TLS = trusting()


async def _paired(crowd: Crowd, k: int, visitor: Visitor) -> str:
    """Pair this phone; its cookie."""
    body = {"secret": crowd.secrets[k % len(crowd.secrets)], "name": "Phone"}
    answer = await visitor.ask(_request(crowd, "POST", "pairings", body))
    for line in answer.split(b"\r\n"):
        if line.lower().startswith(b"set-cookie:"):
            return line.split(b":", 1)[1].split(b";")[0].strip().decode()
    raise ConnectionRefusedError(answer[:20].decode())


async def _opened(crowd: Crowd, visitor: Visitor, cookie: str) -> None:
    """Open a stream with a ticket."""
    answer = await visitor.ask(_request(crowd, "POST", "tickets", {}, Cookie=cookie))
    ticket = json.loads(answer.partition(b"\r\n\r\n")[2])["ticket"]
    upgrade = _request(
        crowd,
        "GET",
        "stream",
        Cookie=cookie,
        Connection="Upgrade",
        Upgrade="websocket",
        Sec_WebSocket_Version="13",
        Sec_WebSocket_Key="AAAAAAAAAAAAAAAAAAAAAA==",
        Sec_WebSocket_Protocol=f"pullcall.1, ticket.{ticket}",
    )
    if await visitor.ask(upgrade) != b"101":
        raise ConnectionRefusedError("no 101")


async def _watcher(crowd: Crowd, k: int) -> Visitor:
    visitor = await _connected(crowd, k, crowd.tls)
    await _opened(crowd, visitor, await _paired(crowd, k, visitor))
    return visitor


async def _never_reads(crowd: Crowd, k: int) -> Visitor:
    visitor = await _watcher(crowd, k)
    visitor.transport.pause_reading()
    return visitor


async def _events(crowd: Crowd, k: int) -> Visitor:
    """An EventSource that takes nothing."""
    visitor = await _connected(crowd, k, crowd.tls)
    cookie = await _paired(crowd, k, visitor)
    visitor.transport.pause_reading()
    visitor.transport.write(_request(crowd, "GET", "events", Cookie=cookie))
    return visitor


async def _silent(crowd: Crowd, k: int) -> Visitor:
    """Connects, and says nothing: over TLS that is a handshake which never ends."""
    return await _connected(crowd, k, tls=False)


async def _half_hello(crowd: Crowd, k: int) -> Visitor:
    """Sends the beginning of a TLS handshake only."""
    visitor = await _connected(crowd, k, tls=False)
    visitor.transport.write(bytes.fromhex("16030102000100"))
    return visitor


async def _drips(crowd: Crowd, k: int) -> Visitor:
    """A header each second, never the last."""
    visitor = await _connected(crowd, k, crowd.tls)
    visitor.transport.write(f"GET / HTTP/1.1\r\nHost: {crowd.name}:{crowd.port}\r\n".encode())
    crowd.works(_drip(visitor))
    return visitor


async def _drip(visitor: Visitor) -> None:
    while not visitor.gone.done():
        visitor.transport.write(b"X-A: b\r\n")
        await asyncio.sleep(1.0)


async def _reconnects(crowd: Crowd, k: int) -> Visitor:
    """Comes back ten times a second, each time with a ticket."""
    visitor = await _connected(crowd, k, crowd.tls)
    crowd.works(_again_and_again(crowd, k, await _paired(crowd, k, visitor)))
    return visitor


async def _again_and_again(crowd: Crowd, k: int, cookie: str) -> None:
    while True:
        began = asyncio.get_running_loop().time()
        try:
            visitor = await _connected(crowd, k, crowd.tls)
            await _opened(crowd, visitor, cookie)
            crowd.ends["opened"] += 1
            visitor.transport.abort()
        except (OSError, KeyError, ValueError, TimeoutError) as exc:
            crowd.ends[type(exc).__name__] += 1
        await asyncio.sleep(max(0.0, began + 0.1 - asyncio.get_running_loop().time()))


async def _greedy(crowd: Crowd, k: int) -> Visitor:
    """One phone that opens every stream it can, and keeps it."""
    visitor = await _connected(crowd, 0, crowd.tls)
    cookie = await _paired(crowd, k, visitor)
    for _ in range(300):
        try:
            more = await _connected(crowd, 0, crowd.tls)
            await _opened(crowd, more, cookie)
            crowd.ends["opened"] += 1
        except (OSError, KeyError, ValueError, TimeoutError) as exc:
            crowd.ends[type(exc).__name__] += 1
    return visitor


async def _asks(crowd: Crowd, k: int) -> Visitor:
    """Asks for the snapshot as fast as it is answered, on one of many connections."""
    visitor = await _connected(crowd, k, crowd.tls)
    crowd.works(_ask_on(crowd, k, visitor, ""))
    return visitor


async def _asks_paired(crowd: Crowd, k: int) -> Visitor:
    """The same with the cookie of a watcher."""
    visitor = await _connected(crowd, k, crowd.tls)
    crowd.works(_ask_on(crowd, k, visitor, await _paired(crowd, k, visitor)))
    return visitor


async def _ask_on(crowd: Crowd, k: int, visitor: Visitor, cookie: str) -> None:
    request = _request(crowd, "GET", "snapshot", **({"Cookie": cookie} if cookie else {}))
    while True:
        try:
            answer = await visitor.ask(request)
            crowd.ends[answer[9:12].decode()] += 1
        except (OSError, TimeoutError) as exc:
            crowd.ends[type(exc).__name__] += 1
            await asyncio.sleep(0.01)
            try:
                visitor = await _connected(crowd, k, crowd.tls)
            except (OSError, TimeoutError):
                crowd.ends["refused"] += 1


KINDS = {
    "watchers": _watcher,
    "never_read": _never_reads,
    "events": _events,
    "silent": _silent,
    "half_hello": _half_hello,
    "drips": _drips,
    "reconnects": _reconnects,
    "greedy": _greedy,
    "asks": _asks,
    "asks_paired": _asks_paired,
}


async def main(crowd: Crowd) -> None:
    """Come, stay until told to go, and tell."""
    gate = asyncio.Semaphore(_AT_ONCE)

    async def come(k: int) -> Visitor | None:
        async with gate:
            try:
                return await KINDS[crowd.kind](crowd, k)
            except (OSError, KeyError, ValueError, TimeoutError) as exc:
                crowd.ends[f"{type(exc).__name__}: {exc}"[:60]] += 1
                return None

    visitors = [one for one in await asyncio.gather(*map(come, range(crowd.count))) if one]
    print(f"here {len(visitors)}", flush=True)
    crowd.bytes = 0
    await asyncio.get_running_loop().run_in_executor(None, sys.stdin.readline)
    left = sum(not one.gone.done() for one in visitors)
    found = {"left": left, "came": len(visitors), "bytes": crowd.bytes, "ends": crowd.ends}
    print(json.dumps(found), flush=True)


if __name__ == "__main__":
    import resource

    resource.setrlimit(
        resource.RLIMIT_NOFILE, (8192, resource.getrlimit(resource.RLIMIT_NOFILE)[1])
    )
    asyncio.run(main(Crowd(**json.loads(sys.argv[1]))))
