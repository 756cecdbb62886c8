"""Secrets that nobody can guess, and the digests that are kept instead of them."""

from __future__ import annotations

import hashlib
import hmac
import secrets

_SECRET_BYTES = 16
_CODE_DIGITS = 8
_ID_BYTES = 6


def new_secret() -> str:
    """128 random bits as 22 letters that need no escaping in an address or a cookie."""
    return secrets.token_urlsafe(_SECRET_BYTES)


def new_code() -> str:
    """Eight random digits (26 bits): only for codes that close after a few guesses."""
    return f"{secrets.randbelow(10**_CODE_DIGITS):0{_CODE_DIGITS}}"


def new_id() -> str:
    """A name for a record; it is shown and opens nothing."""
    return secrets.token_hex(_ID_BYTES)


def digest(secret: str) -> str:
    """SHA-256 in hex: enough for secrets of 128 bits, which no list of guesses reaches.

    Records are looked up by digest. How long that takes tells nothing of use: whoever could
    choose the beginning of a digest could not choose the secret that it belongs to.
    """
    # A secret comes from the network and may hold what is no text at all: that is just wrong.
    return hashlib.sha256(secret.encode("utf-8", "surrogatepass")).hexdigest()


def is_same(one: str, other: str) -> bool:
    """Compare two digests in a time that does not depend on where they differ."""
    return hmac.compare_digest(one, other)
