"""The site's authority vouches for this site, and cannot for anything else.

Chains are judged by two others: the verifier of ``cryptography`` (the web's rules, in Rust) and
OpenSSL in a real handshake.
"""

from __future__ import annotations

import ssl
from datetime import UTC, datetime, timedelta
from ipaddress import ip_address
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat
from cryptography.x509.oid import ExtendedKeyUsageOID
from cryptography.x509.verification import PolicyBuilder, Store, VerificationError

from pullcall.network.addresses import Address
from pullcall.tls import authority as making
from pullcall.tls.authority import fingerprint, make_authority, make_leaf
from pullcall.tls.context import server_context
from pullcall.tls.credential import Credential
from tests.set_clock import NOON
from tests.tls.forgery import forged
from tests.tls.handshake import certificate_at, opened, phone_that_trusts, served

NAMES = ("localhost", "pullcall.local", "pit", "grill.example.org")
FORM = (Encoding.X962, PublicFormat.UncompressedPoint)
ADDRESSES = tuple(map(ip_address, ("127.0.0.1", "192.168.1.20", "169.254.3.3", "fd00::2", "::1")))


def the_authority(now: datetime = NOON) -> Credential:
    return make_authority("pit", NAMES, now)


def verify(authority: Credential, leaf: Credential, name: str | Address, now: datetime) -> None:
    """As a browser would. Raises VerificationError."""
    subject = x509.DNSName(name) if isinstance(name, str) else x509.IPAddress(name)
    policy = PolicyBuilder().store(Store([authority.certificate])).time(now)
    policy.build_server_verifier(subject).verify(leaf.certificate, [])


def server_with(credential: Credential, folder: Path) -> ssl.SSLContext:
    path = folder / "server.pem"
    path.write_bytes(credential.to_pem())
    context = server_context()
    context.load_cert_chain(path)
    return context


@pytest.mark.parametrize("name", [*NAMES, *ADDRESSES])
def test_a_browser_that_trusts_the_authority_accepts_the_site(name: str | Address) -> None:
    authority = the_authority()
    verify(authority, make_leaf(authority, "pit", NAMES, ADDRESSES, NOON), name, NOON)


@pytest.mark.parametrize("name", ["other.local", ip_address("192.168.1.21")])
def test_it_is_for_no_other_machine(name: str | Address) -> None:
    authority = the_authority()
    leaf = make_leaf(authority, "pit", NAMES, ADDRESSES, NOON)
    with pytest.raises(VerificationError):
        verify(authority, leaf, name, NOON)


def test_what_the_authority_may_not_vouch_for_is_left_out() -> None:
    authority = the_authority()
    names = ["pullcall.local", "bank.example.com", "notlocal"]
    addresses = [ip_address(text) for text in ("8.8.8.8", "192.168.1.20", "2001:4860::1")]
    leaf = make_leaf(authority, "pit", names, addresses, NOON)
    held = leaf.certificate.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    assert held.get_values_for_type(x509.DNSName) == ["pullcall.local"]
    assert held.get_values_for_type(x509.IPAddress) == [ip_address("192.168.1.20")]


@pytest.mark.parametrize(
    "name", ["bank.example.com", "com", "local.example.com", "pit.example.com"]
)
async def test_a_forged_certificate_for_a_public_name_is_refused(name: str, tmp_path: Path) -> None:
    authority = the_authority(datetime.now(UTC))
    forgery = forged(authority, [name], [])
    with pytest.raises(VerificationError, match="name constraints"):
        verify(authority, forgery, name, datetime.now(UTC))
    phone = phone_that_trusts(authority.certificate)
    async with served(server_with(forgery, tmp_path)) as port:
        with pytest.raises(ssl.SSLCertVerificationError, match="permitted subtree violation"):
            await certificate_at(port, phone, name)


@pytest.mark.parametrize("text", ["8.8.8.8", "172.32.0.1", "100.128.0.1", "2001:4860::1"])
async def test_a_forged_certificate_for_a_public_address_is_refused(
    text: str, tmp_path: Path
) -> None:
    authority = the_authority(datetime.now(UTC))
    address = ip_address(text)
    forgery = forged(authority, [], [address])
    with pytest.raises(VerificationError, match="name constraints"):
        verify(authority, forgery, address, datetime.now(UTC))
    phone = phone_that_trusts(authority.certificate)
    async with served(server_with(forgery, tmp_path)) as port:
        with pytest.raises(ssl.SSLCertVerificationError, match="permitted subtree violation"):
            await certificate_at(port, phone, text)


async def test_the_forger_is_not_refused_for_another_reason(tmp_path: Path) -> None:
    authority = the_authority(datetime.now(UTC))
    forgery = forged(authority, ["pullcall.local"], [])
    async with served(server_with(forgery, tmp_path)) as port:
        await certificate_at(port, phone_that_trusts(authority.certificate), "pullcall.local")


def test_it_cannot_make_another_authority() -> None:
    authority = the_authority()
    below = make_authority("below", NAMES, NOON)
    leaf = make_leaf(below, "pit", NAMES, ADDRESSES, NOON)
    policy = PolicyBuilder().store(Store([authority.certificate])).time(NOON)
    verifier = policy.build_server_verifier(x509.DNSName("pullcall.local"))
    with pytest.raises(VerificationError, match="path"):
        verifier.verify(leaf.certificate, [_signed_by(authority, below)])


def _signed_by(authority: Credential, below: Credential) -> x509.Certificate:
    """The other authority, as if this one had vouched for it."""
    one = below.certificate
    builder = (
        x509.CertificateBuilder()
        .subject_name(one.subject)
        .issuer_name(authority.certificate.subject)
        .public_key(one.public_key())
        .serial_number(one.serial_number)
        .not_valid_before(one.not_valid_before_utc)
        .not_valid_after(one.not_valid_after_utc)
    )
    for extension in one.extensions:
        builder = builder.add_extension(extension.value, extension.critical)
    return builder.sign(authority.key, hashes.SHA256())


def test_it_is_of_use_for_servers_only_and_says_whose_it_is() -> None:
    certificate = the_authority().certificate
    extensions = certificate.extensions
    use = extensions.get_extension_for_class(x509.KeyUsage)
    assert use.critical
    assert use.value.key_cert_sign
    assert not (use.value.digital_signature or use.value.crl_sign)
    purposes = extensions.get_extension_for_class(x509.ExtendedKeyUsage).value
    assert list(purposes) == [ExtendedKeyUsageOID.SERVER_AUTH]
    assert extensions.get_extension_for_class(x509.NameConstraints).critical
    limits = extensions.get_extension_for_class(x509.BasicConstraints)
    assert (limits.critical, limits.value.ca, limits.value.path_length) == (True, True, 0)
    assert certificate.subject.rfc4514_string() == "CN=Pullcall pit (this site only)"


def test_a_long_host_name_is_shortened() -> None:
    authority = make_authority("p" * 63, NAMES, NOON)
    [name] = authority.certificate.subject
    assert len(str(name.value)) == 64
    assert str(name.value).endswith("(this site only)")
    make_leaf(authority, "p" * 63, NAMES, ADDRESSES, NOON)


def test_no_two_have_the_same_number_or_key() -> None:
    authorities = [the_authority() for _ in range(3)]
    leaves = [make_leaf(authorities[0], "pit", NAMES, ADDRESSES, NOON) for _ in range(3)]
    made = [one.certificate for one in (*authorities, *leaves)]
    assert len({one.serial_number for one in made}) == 6
    assert len({fingerprint(one) for one in made}) == 6
    assert (
        len(
            {
                one.extensions.get_extension_for_class(x509.SubjectKeyIdentifier).value.digest
                for one in made
            }
        )
        == 6
    )


def test_the_authority_counts_from_2020_until_ten_years_from_now() -> None:
    validity = the_authority().validity
    assert validity.begins == datetime(2020, 1, 1, tzinfo=UTC)
    assert timedelta(days=3650) <= validity.ends - NOON <= timedelta(days=3654)


def test_a_certificate_counts_for_397_days_most_of_them_ahead() -> None:
    validity = make_leaf(the_authority(), "pit", NAMES, ADDRESSES, NOON).validity
    # The last second counts too (RFC 5280 section 4.1.2.5).
    assert validity.ends - validity.begins + timedelta(seconds=1) == timedelta(days=397)
    assert NOON - validity.begins > timedelta(days=90)
    assert validity.ends - NOON > timedelta(days=270)


def test_the_fingerprint_is_the_one_that_others_show() -> None:
    certificate = the_authority().certificate
    shown = fingerprint(certificate)
    assert shown.replace(" ", "").lower() == certificate.fingerprint(hashes.SHA256()).hex()
    assert [len(group) for group in shown.split(" ")] == [4] * 16


async def test_old_and_new_phones_shake_hands_with_forward_secrecy(tmp_path: Path) -> None:
    now = datetime.now(UTC)
    authority = the_authority(now)
    leaf = make_leaf(authority, "pit", NAMES, ADDRESSES, now)
    phone = phone_that_trusts(authority.certificate)
    async with served(server_with(leaf, tmp_path)) as port:
        async with opened(port, phone, "127.0.0.1") as talk:
            assert talk.version == "TLSv1.3"
        phone.maximum_version = ssl.TLSVersion.TLSv1_2
        async with opened(port, phone, "pullcall.local") as talk:
            assert talk.version == "TLSv1.2"
            assert talk.cipher.startswith("ECDHE-")
        phone.set_ciphers("AES128-GCM-SHA256")  # without forward secrecy
        with pytest.raises((ssl.SSLError, ConnectionError)):
            await certificate_at(port, phone, "pullcall.local")


def test_the_der_form_is_the_certificate_without_its_key() -> None:
    authority = the_authority()
    assert x509.load_der_x509_certificate(making.der(authority)) == authority.certificate
