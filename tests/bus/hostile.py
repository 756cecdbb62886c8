"""A broker that means harm, in a process of its own: ``python -m tests.bus.hostile CONDUCT``.

Prints its port. Knows of MQTT 5 (OASIS standard, 2019) only what it needs to be believed.
"""

from __future__ import annotations

import os
import socket
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from subprocess import PIPE, Popen

#: CONNACK: accepted, no properties (3.2).
_WELCOME = b"\x20\x03\x00\x00\x00"
#: DISCONNECT: session taken over (3.14).
_TAKEN_OVER = b"\xe0\x02\x8e\x00"
#: PUBLISH, QoS 0, topic "x", 60 kB (3.3); 61444 is what follows the length, in seven bits each.
_FLOOD = b"\x30\x84\xe0\x03" + b"\x00\x01x\x00" + bytes(61440)
#: The begin of a PUBLISH of the largest length there is, 256 MB.
_VAST = b"\x30\xff\xff\xff\x7f" + b"\x00\x01x\x00"


def silent(client: socket.socket) -> None:
    """Accept, and say nothing, nor take anything."""
    threading.Event().wait()


def unconfirming(client: socket.socket) -> None:
    """Take everything, and confirm nothing."""
    client.recv(65536)
    client.sendall(_WELCOME)
    while client.recv(65536):
        pass


def flooding(client: socket.socket) -> None:
    """Send without end what nobody asked for."""
    client.recv(65536)
    client.sendall(_WELCOME)
    while True:
        client.sendall(_FLOOD)


def vast(client: socket.socket) -> None:
    """Send one message that does not end."""
    client.recv(65536)
    client.sendall(_WELCOME + _VAST)
    while True:
        client.sendall(bytes(1 << 20))


def closing(client: socket.socket) -> None:
    """Close at once."""


def babbling(client: socket.socket) -> None:
    """Answer with noise."""
    client.recv(65536)
    client.sendall(bytes(range(256)) * 16)
    client.recv(65536)


def taking_over(client: socket.socket) -> None:
    """Say welcome, then that another came by this name."""
    client.recv(65536)
    client.sendall(_WELCOME)
    client.recv(65536)
    client.sendall(_TAKEN_OVER)
    client.recv(65536)


CONDUCTS: dict[str, Callable[[socket.socket], None]] = {
    act.__name__: act
    for act in (silent, unconfirming, flooding, vast, closing, babbling, taking_over)
}


@contextmanager
def hostile_broker(conduct: str) -> Iterator[int]:
    """Such a broker for a block's length; gives its port."""
    command = [sys.executable, "-m", "tests.bus.hostile", conduct]
    with Popen(command, stdout=PIPE) as process:
        assert process.stdout is not None
        try:
            yield int(process.stdout.readline())
        finally:
            process.kill()


def _serve(act: Callable[[socket.socket], None]) -> None:
    os.nice(5)
    with socket.create_server(("127.0.0.1", 0)) as server:
        print(server.getsockname()[1], flush=True)
        while True:
            client, _ = server.accept()
            threading.Thread(target=_meet, args=(act, client), daemon=True).start()


def _meet(act: Callable[[socket.socket], None], client: socket.socket) -> None:
    with client, suppress(OSError):
        act(client)


if __name__ == "__main__":
    _serve(CONDUCTS[sys.argv[1]])
