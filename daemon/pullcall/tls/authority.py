"""Makes the site's own authority, and certificates that it vouches for."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import Encoding
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from pullcall.network.addresses import Address
from pullcall.tls.credential import Credential
from pullcall.tls.permitted import constraints, permits_address, permits_name
from pullcall.tls.validity import Validity, authority_validity, leaf_validity

#: The longest common name (RFC 5280 appendix A.1), letters.
_LONGEST_NAME = 64
#: As browsers and phones show it.
_AUTHORITY_NAME = "Pullcall {host} (this site only)"
_LEAF_NAME = "Pullcall {host}"
_GROUP_DIGITS = 4
_NO_USE = dict.fromkeys(
    (
        "digital_signature",
        "content_commitment",
        "key_encipherment",
        "data_encipherment",
        "key_agreement",
        "key_cert_sign",
        "crl_sign",
        "encipher_only",
        "decipher_only",
    ),
    False,
)
#: Neither signs programs or mail, nor lets anybody in: it is for servers of web pages.
_FOR_SERVERS = x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH])


def make_authority(host: str, names: Iterable[str], now: datetime) -> Credential:
    """An authority that can vouch for private addresses, ``.local`` and ``names`` only."""
    key = ec.generate_private_key(ec.SECP256R1())
    name = _common_name(_AUTHORITY_NAME, host)
    builder = _builder(name, name, key, authority_validity(now))
    builder = builder.add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
    builder = builder.add_extension(_use("key_cert_sign"), critical=True)
    builder = builder.add_extension(constraints(names), critical=True)
    return Credential(builder.sign(key, hashes.SHA256()), key)


def make_leaf(
    authority: Credential,
    host: str,
    names: Iterable[str],
    addresses: Iterable[Address],
    now: datetime,
) -> Credential:
    """A certificate for a server at ``names`` and ``addresses``.

    What the authority may not vouch for is left out: with it, phones would refuse all of it.
    """
    limits = constraints_of(authority)
    subjects: list[x509.GeneralName] = [
        x509.DNSName(name) for name in names if permits_name(limits, name)
    ]
    subjects += [x509.IPAddress(one) for one in addresses if permits_address(limits, one)]
    key = ec.generate_private_key(ec.SECP256R1())
    issuer = authority.certificate
    builder = _builder(_common_name(_LEAF_NAME, host), issuer.subject, key, leaf_validity(now))
    builder = builder.add_extension(
        x509.BasicConstraints(ca=False, path_length=None), critical=True
    )
    builder = builder.add_extension(_use("digital_signature"), critical=True)
    builder = builder.add_extension(x509.SubjectAlternativeName(subjects), critical=False)
    identifier = issuer.extensions.get_extension_for_class(x509.SubjectKeyIdentifier).value
    builder = builder.add_extension(
        x509.AuthorityKeyIdentifier.from_issuer_subject_key_identifier(identifier), critical=False
    )
    return Credential(builder.sign(authority.key, hashes.SHA256()), key)


def constraints_of(authority: Credential) -> x509.NameConstraints:
    """What an authority may vouch for. Raises x509.ExtensionNotFound if it is not limited."""
    extensions = authority.certificate.extensions
    return extensions.get_extension_for_class(x509.NameConstraints).value


def der(authority: Credential) -> bytes:
    """The authority's certificate as phones take it in."""
    return authority.certificate.public_bytes(Encoding.DER)


def fingerprint(certificate: x509.Certificate) -> str:
    """SHA-256 of a certificate in groups of four digits, for people to compare."""
    digits = certificate.fingerprint(hashes.SHA256()).hex().upper()
    groups = range(0, len(digits), _GROUP_DIGITS)
    return " ".join(digits[at : at + _GROUP_DIGITS] for at in groups)


def _builder(
    subject: x509.Name, issuer: x509.Name, key: ec.EllipticCurvePrivateKey, validity: Validity
) -> x509.CertificateBuilder:
    """What both kinds have in common."""
    public = key.public_key()
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(public)
        .serial_number(x509.random_serial_number())
        .not_valid_before(validity.begins)
        .not_valid_after(validity.ends)
        .add_extension(_FOR_SERVERS, critical=False)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(public), critical=False)
    )


def _common_name(pattern: str, host: str) -> x509.Name:
    room = _LONGEST_NAME - len(pattern.format(host=""))
    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, pattern.format(host=host[:room]))])


def _use(purpose: str) -> x509.KeyUsage:
    return x509.KeyUsage(**{**_NO_USE, purpose: True})
