"""How the page's server speaks TLS."""

from __future__ import annotations

import ssl

#: For TLS 1.2; version 1.3 has no others. Forward secrecy, and nothing that is known to be weak.
_CIPHERS = "ECDHE+AESGCM:ECDHE+CHACHA20"


def server_context() -> ssl.SSLContext:
    """A server's side, still without a certificate."""
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.minimum_version = ssl.TLSVersion.TLSv1_2
    context.set_ciphers(_CIPHERS)
    context.set_alpn_protocols(["http/1.1"])
    return context
