"""A certificate with its private key, and the text of both in a file."""

from __future__ import annotations

from dataclasses import dataclass

from cryptography import x509
from cryptography.exceptions import UnsupportedAlgorithm
from cryptography.hazmat.primitives.asymmetric.ec import EllipticCurvePrivateKey
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
    load_pem_private_key,
)

from pullcall.tls.validity import Validity


class BrokenCredentialError(ValueError):
    """A file is not a certificate with its key, as this program writes them."""


@dataclass(frozen=True, slots=True)
class Credential:
    """``key`` is the private one of ``certificate``."""

    certificate: x509.Certificate
    key: EllipticCurvePrivateKey

    @property
    def validity(self) -> Validity:
        """From when until when it counts."""
        one = self.certificate
        return Validity(one.not_valid_before_utc, one.not_valid_after_utc)

    def to_pem(self) -> bytes:
        """Key, then certificate: one file, so that the two can never be of different times."""
        key = self.key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
        return key + self.certificate.public_bytes(Encoding.PEM)


def from_pem(text: bytes) -> Credential:
    """Read what :meth:`Credential.to_pem` wrote. Raises BrokenCredentialError."""
    try:
        key = load_pem_private_key(text, password=None)
        certificate = x509.load_pem_x509_certificate(text)
    except (ValueError, TypeError, UnsupportedAlgorithm) as exc:
        raise BrokenCredentialError(str(exc)) from exc
    if not isinstance(key, EllipticCurvePrivateKey):
        raise BrokenCredentialError("its key is of another kind")
    if key.public_key() != certificate.public_key():
        raise BrokenCredentialError("its key belongs to another certificate")
    return Credential(certificate, key)
