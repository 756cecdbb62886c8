"""Signs what is posted, so that the receiver knows who sent it and when."""

from __future__ import annotations

import hashlib
import hmac

#: Whole seconds since 1970 at which the signature was made.
TIMESTAMP_HEADER = "Pullcall-Timestamp"
#: ``sha256=`` and the HMAC-SHA256 over timestamp, ``.`` and body, in hexadecimal.
SIGNATURE_HEADER = "Pullcall-Signature"


def hmac_sha256(key: bytes, message: bytes) -> str:
    """HMAC-SHA256 (RFC 2104 with FIPS 180-4) in hexadecimal."""
    return hmac.new(key, message, hashlib.sha256).hexdigest()


def signature_headers(secret: str, timestamp: int, body: bytes) -> dict[str, str]:
    """The headers that sign ``body``; with an empty secret the timestamp alone."""
    headers = {TIMESTAMP_HEADER: str(timestamp)}
    if secret:
        message = f"{timestamp}.".encode() + body
        headers[SIGNATURE_HEADER] = f"sha256={hmac_sha256(secret.encode(), message)}"
    return headers
