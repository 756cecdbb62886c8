"""An address and a port to listen at, as often as it takes."""

from __future__ import annotations

import errno
import socket

from pullcall.errors import AddressInUseError

_NOT_OURS = "{host} is not an address of this machine: give another with --host."
_WAITING = 128
#: What the system may hold for each peer that reads slowly or never, bytes; it doubles this for
#: its own use (socket(7)), and would take megabytes.
_UNREAD = 64 * 1024


class Place:
    """Where something is served. Its socket can be opened ahead, so that who comes early waits."""

    def __init__(self, host: str, port: int) -> None:
        self.host = host
        self.port = port
        self._listener: socket.socket | None = None

    def open(self) -> socket.socket:
        """The listening socket, opened now unless it is. Raises AddressInUseError."""
        if self._listener is None:
            self._listener = _bound(self.host, self.port)
        return self._listener

    def is_alive(self) -> bool:
        """Whether its socket still lets anybody in."""
        try:
            listener = self._listener
            return listener is not None and bool(
                listener.getsockopt(socket.SOL_SOCKET, socket.SO_ACCEPTCONN)
            )
        except OSError:
            return False

    def close(self) -> None:
        """Let the socket go; the next :meth:`open` makes another."""
        if self._listener is not None:
            self._listener.close()
        self._listener = None


def _bound(host: str, port: int) -> socket.socket:
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    listener = socket.socket(family, socket.SOCK_STREAM)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_SNDBUF, _UNREAD)  # those it lets in have it
    try:
        listener.bind((host, port))
        listener.listen(_WAITING)
    except OSError as exc:
        listener.close()
        if isinstance(exc, socket.gaierror) or exc.errno == errno.EADDRNOTAVAIL:
            raise AddressInUseError(_NOT_OURS.format(host=host)) from exc
        raise AddressInUseError(
            f"Cannot serve the page on {host} port {port} ({exc.strerror}): stop what listens "
            f"there, or choose another with --port."
        ) from exc
    return listener
