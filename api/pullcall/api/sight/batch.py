"""What a page is sent at one go; what many are sent is made once for all of them."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable
from functools import lru_cache

from pullcall.log.records import to_line
from pullcall.network.stream_socket import frame

_TICK = '{"type":"tick"'
#: What each page gets for itself, or but once.
_OWN = (_TICK, '{"type":"hello"', '{"type":"snapshot"', '{"type":"board"')
#: Messages that are kept as they are sent: of some seconds, whichever second is whose turn.
_KEPT = 256


def refreshed(lines: list[str], now: Callable[[], float]) -> list[str]:
    """The same with one tick, and that of now: no page's clock is late for having waited."""
    others = [line for line in lines if not line.startswith(_TICK)]
    if len(others) == len(lines):
        return lines
    return [to_line({"type": "tick", "t": round(now(), 3)}), *others]


def frames(lines: Iterable[str]) -> bytes:
    """The lines as frames of a websocket, one each."""
    return b"".join((frame if line.startswith(_OWN) else _shared_frame)(line) for line in lines)


def events(epoch: str, lines: Iterable[str]) -> str:
    """The lines as server-sent events; the id of one is ``epoch:seq``."""
    return "".join(
        (_event if line.startswith(_OWN) else _shared_event)(epoch, line) for line in lines
    )


@lru_cache(maxsize=_KEPT)
def _shared_frame(line: str) -> bytes:
    return frame(line)


@lru_cache(maxsize=_KEPT)
def _shared_event(epoch: str, line: str) -> str:
    return _event(epoch, line)


def _event(epoch: str, line: str) -> str:
    seq = json.loads(line).get("seq")
    id = f"id: {epoch}:{seq}\n" if seq is not None else ""
    return f"{id}data: {line}\n\n"
