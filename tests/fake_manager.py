"""A service manager for tests: the socket to which a service tells how it does."""

from __future__ import annotations

import socket
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest


class FakeManager:
    """What came through the socket, one message after the other."""

    def __init__(self, listener: socket.socket) -> None:
        self._listener = listener

    def heard(self) -> list[str]:
        """Every message that came since the last look."""
        self._listener.settimeout(0)
        found = []
        try:
            while True:
                found.append(self._listener.recv(4096).decode())
        except BlockingIOError:
            return found

    def until(self, wanted: str, seconds: float) -> list[str]:
        """Every message until the one that is wanted, it included. Raises TimeoutError."""
        self._listener.settimeout(seconds)
        found = [self._listener.recv(4096).decode()]
        while found[-1] != wanted:
            found.append(self._listener.recv(4096).decode())
        return found


@contextmanager
def fake_manager(address: Path | str) -> Iterator[FakeManager]:
    """A manager that listens at a path, or at an abstract name that begins with "@"."""
    where = str(address)
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as listener:
        listener.bind(f"\0{where[1:]}" if where.startswith("@") else where)
        yield FakeManager(listener)


@contextmanager
def managed(
    monkeypatch: pytest.MonkeyPatch, address: Path | str, watchdog_s: float | None = None
) -> Iterator[FakeManager]:
    """This process as a service of such a manager, which wants a ping each ``watchdog_s``."""
    with fake_manager(address) as manager:
        monkeypatch.setenv("NOTIFY_SOCKET", str(address))
        if watchdog_s is not None:
            monkeypatch.setenv("WATCHDOG_USEC", f"{watchdog_s * 1e6:.0f}")
        yield manager
