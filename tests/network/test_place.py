"""A place to listen at."""

from __future__ import annotations

import socket

from pullcall.network.place import Place


def test_the_system_holds_little_for_a_peer_that_reads_nothing() -> None:
    place = Place("127.0.0.1", 0)
    listener = place.open()
    with socket.create_connection(listener.getsockname()):
        peer, _ = listener.accept()
        held = peer.getsockopt(socket.SOL_SOCKET, socket.SO_SNDBUF)
        peer.close()
    place.close()
    assert held <= 128 * 1024
