"""What a thief of the authority's key could make, and phones have to refuse."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime, timedelta

from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from pullcall.network.addresses import Address
from pullcall.tls.credential import Credential


def forged(authority: Credential, names: Iterable[str], addresses: Iterable[Address]) -> Credential:
    """A certificate that the authority's key signed and that its limits forbid."""
    key = ec.generate_private_key(ec.SECP256R1())
    subjects = [*map(x509.DNSName, names), *map(x509.IPAddress, addresses)]
    now = datetime.now(UTC)
    builder = (
        x509.CertificateBuilder()
        .subject_name(x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "Forged")]))
        .issuer_name(authority.certificate.subject)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(days=1))
        .not_valid_after(now + timedelta(days=1))
        .add_extension(x509.SubjectAlternativeName(subjects), critical=False)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(
            x509.AuthorityKeyIdentifier.from_issuer_public_key(authority.key.public_key()),
            critical=False,
        )
    )
    return Credential(builder.sign(authority.key, hashes.SHA256()), key)
