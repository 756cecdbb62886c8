"""Tells a service manager how the daemon does: it is ready, its call loop lives, it stops.

The protocol is that of sd_notify(3): lines of text in one datagram to the socket that the
environment names. Without that socket nothing is sent, and nothing here ever raises or waits: a
service manager that is stuck must not hold up a call.
"""

from __future__ import annotations

import os
import socket
from collections.abc import Mapping
from contextlib import suppress

from pullcall.clock import Clock

#: A ping is due after this share of the time within which the service manager wants one.
_SHARE = 0.25


def is_managed() -> bool:
    """Whether a service manager started this and starts it again when it ends."""
    return bool(os.environ.get("NOTIFY_SOCKET"))


def tell(*lines: str) -> None:
    """Send lines such as "READY=1" in one message."""
    address = os.fsencode(os.environ.get("NOTIFY_SOCKET", ""))
    if not address:
        return
    if address.startswith(b"@"):  # an abstract socket, unix(7)
        address = b"\0" + address[1:]
    with (
        suppress(OSError, ValueError),
        socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as manager,
    ):
        manager.setblocking(False)
        manager.sendto("\n".join(lines).encode(), address)


def ready() -> None:
    """Its doors are open."""
    tell("READY=1")


def status(sentence: str) -> None:
    """What `systemctl status` shows."""
    tell(f"STATUS={' '.join(sentence.split())}")


def stopping() -> None:
    """It was asked to stop, and does."""
    tell("STOPPING=1")


class Watchdog:
    """Pings the service manager from the loop whose life matters; a loop that hangs does not."""

    def __init__(self, clock: Clock) -> None:
        self._clock = clock
        self._every_s = _wanted_s(os.environ)
        self._next = clock.monotonic()

    def passed(self) -> None:
        """The loop went round once. Pings at most each quarter of the time allowed."""
        now = self._clock.monotonic()
        if self._every_s is None or now < self._next:
            return
        self._next = now + self._every_s
        tell("WATCHDOG=1")


def _wanted_s(environment: Mapping[str, str]) -> float | None:
    """How often to ping, seconds; None where nobody waits for this process to do it."""
    if environment.get("WATCHDOG_PID", str(os.getpid())) != str(os.getpid()):
        return None
    with suppress(ValueError):
        allowed_us = int(environment.get("WATCHDOG_USEC", ""))
        return allowed_us / 1e6 * _SHARE if allowed_us > 0 else None
    return None
