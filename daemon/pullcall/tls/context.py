"""How the page's server speaks TLS."""

from __future__ import annotations

import os
import ssl
from collections.abc import Callable
from contextlib import ExitStack

#: For TLS 1.2; version 1.3 has no others. Forward secrecy, and nothing that is known to be weak.
_CIPHERS = "ECDHE+AESGCM:ECDHE+CHACHA20"


def server_context() -> ssl.SSLContext:
    """A server's side, still without a certificate."""
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.minimum_version = ssl.TLSVersion.TLSv1_2
    context.set_ciphers(_CIPHERS)
    context.set_alpn_protocols(["http/1.1"])
    return context


def serve_with(
    context: ssl.SSLContext,
    certificate: bytes,
    key: bytes,
    password: Callable[[], str] | None = None,
) -> None:
    """Let new connections see a certificate (and its chain), both in PEM form.

    From memory: the library reads files only, and a disk that hangs would hang whoever loads it.
    Raises ssl.SSLError where they do not fit, and what ``password`` raises.
    """
    with ExitStack() as stack:
        chain, own = _in_memory(certificate, stack), _in_memory(key, stack)
        context.load_cert_chain(chain, own, password)


def _in_memory(text: bytes, stack: ExitStack) -> str:
    """A file that is on no disk, for as long as ``stack`` is open."""
    file = stack.enter_context(os.fdopen(os.memfd_create("certificate"), "wb"))
    file.write(text)
    file.flush()
    return f"/proc/self/fd/{file.fileno()}"
