"""The cook's own certificate and key are served as they are on disk, and told apart when wrong."""

from __future__ import annotations

import logging
from pathlib import Path

import pytest
import trustme
from cryptography import x509
from cryptography.hazmat.primitives.serialization import (
    BestAvailableEncryption,
    Encoding,
    PrivateFormat,
    load_pem_private_key,
)

from pullcall.errors import ConfigError
from pullcall.tls.files import CertificateFiles
from pullcall.tls.watching import LOOK_S
from tests.set_clock import SetClock
from tests.tls.handshake import certificate_at, opened, phone_that_trusts, served
from tests.tls.running import running

NAME = "grill.example.org"


class Folder:
    """A certificate and its key as another program keeps them: links to the newest ones."""

    def __init__(self, path: Path) -> None:
        self.ca = trustme.CA()
        self.certificate = path / "fullchain.pem"
        self.key = path / "privkey.pem"
        self.clock = SetClock()
        self._count = 0
        self.put(self.issue())

    def issue(self, kind: trustme.KeyType = trustme.KeyType.ECDSA) -> trustme.LeafCert:
        return self.ca.issue_cert(NAME, "*.example.org", key_type=kind)

    def put(self, leaf: trustme.LeafCert) -> None:
        self.put_certificate(leaf)
        self.put_key(leaf)

    def put_certificate(self, leaf: trustme.LeafCert) -> None:
        self._link(self.certificate, b"".join(pem.bytes() for pem in leaf.cert_chain_pems))

    def put_key(self, leaf: trustme.LeafCert) -> None:
        self._link(self.key, leaf.private_key_pem.bytes())

    def _link(self, link: Path, text: bytes) -> None:
        self._count += 1
        archived = link.with_suffix(f".{self._count}")
        archived.write_bytes(text)
        link.unlink(missing_ok=True)
        link.symlink_to(archived)

    def files(self) -> CertificateFiles:
        return CertificateFiles(self.certificate, self.key, self.clock)

    @property
    def authority(self) -> bytes:
        return x509.load_pem_x509_certificate(self.ca.cert_pem.bytes()).public_bytes(Encoding.DER)

    def now_there(self) -> x509.Certificate:
        return x509.load_pem_x509_certificate(self.certificate.read_bytes())


@pytest.fixture
def folder(tmp_path: Path) -> Folder:
    return Folder(tmp_path)


def warnings(caplog: pytest.LogCaptureFixture) -> list[str]:
    return [r.getMessage() for r in caplog.records if r.levelno >= logging.WARNING]


@pytest.mark.parametrize("kind", list(trustme.KeyType))
async def test_they_are_served(folder: Folder, kind: trustme.KeyType) -> None:
    folder.put(folder.issue(kind))
    files = folder.files()
    async with served(files.context()) as port:
        shown = await certificate_at(port, phone_that_trusts(folder.authority), NAME)
    assert shown == folder.now_there()
    assert files.names == (NAME,)
    assert files.fingerprint is files.authority_der is None


async def test_renewed_files_are_served_to_new_connections(folder: Folder) -> None:
    files = folder.files()
    phone = phone_that_trusts(folder.authority)
    async with (
        served(files.context()) as port,
        opened(port, phone, NAME) as early,
        running(files.watch()),
    ):
        await folder.clock.someone_waits()
        folder.put(folder.issue())
        assert await certificate_at(port, phone, NAME) == early.certificate
        await folder.clock.pass_by(LOOK_S)
        renewed = await certificate_at(port, phone, NAME)
        assert renewed == folder.now_there() != early.certificate
        assert await early.echo(b"still here") == b"still here"


async def test_files_that_are_half_renewed_wait_until_both_are(
    folder: Folder, caplog: pytest.LogCaptureFixture
) -> None:
    files = folder.files()
    first = folder.now_there()
    phone = phone_that_trusts(folder.authority)
    renewed = folder.issue()
    async with served(files.context()) as port, running(files.watch()):
        await folder.clock.someone_waits()
        folder.put_certificate(renewed)
        for _ in range(3):
            await folder.clock.pass_by(LOOK_S)
        assert await certificate_at(port, phone, NAME) == first
        assert ["do not belong together" in told for told in warnings(caplog)] == [True]
        folder.put_key(renewed)
        await folder.clock.pass_by(LOOK_S)
        assert await certificate_at(port, phone, NAME) == folder.now_there()


@pytest.mark.parametrize("lost", ["certificate", "key"])
async def test_files_that_vanish_are_missed_once_and_the_old_ones_serve(
    folder: Folder, lost: str, caplog: pytest.LogCaptureFixture
) -> None:
    files = folder.files()
    first = folder.now_there()
    phone = phone_that_trusts(folder.authority)
    async with served(files.context()) as port, running(files.watch()):
        await folder.clock.someone_waits()
        getattr(folder, lost).unlink()
        for _ in range(3):
            await folder.clock.pass_by(LOOK_S)
        assert await certificate_at(port, phone, NAME) == first
        assert ["No such file" in told for told in warnings(caplog)] == [True]


async def test_a_key_of_another_kind_needs_a_new_start(
    folder: Folder, caplog: pytest.LogCaptureFixture
) -> None:
    files = folder.files()
    first = folder.now_there()
    phone = phone_that_trusts(folder.authority)
    async with served(files.context()) as port, running(files.watch()):
        await folder.clock.someone_waits()
        folder.put(folder.issue(trustme.KeyType.RSA))
        await folder.clock.pass_by(LOOK_S)
        assert await certificate_at(port, phone, NAME) == first
        assert ["start Pullcall again" in told for told in warnings(caplog)] == [True]
    async with served(folder.files().context()) as port:
        assert await certificate_at(port, phone, NAME) == folder.now_there()


@pytest.mark.parametrize("missing", ["certificate", "key"])
def test_a_missing_file_is_named(folder: Folder, missing: str) -> None:
    path: Path = getattr(folder, missing)
    path.unlink()
    with pytest.raises(ConfigError, match="No such file") as told:
        folder.files()
    assert str(path) in str(told.value)


@pytest.mark.parametrize("closed", ["certificate", "key"])
def test_a_file_that_cannot_be_read_is_named(folder: Folder, closed: str) -> None:
    path: Path = getattr(folder, closed)
    path.unlink()
    path.mkdir()  # root may read every file, but no folder
    with pytest.raises(ConfigError, match="who may read them") as told:
        folder.files()
    assert str(path) in str(told.value)


def test_a_key_of_another_certificate_is_told(folder: Folder) -> None:
    folder.put_key(folder.issue())
    with pytest.raises(ConfigError, match="do not belong together"):
        folder.files()


def test_a_key_with_a_password_is_told_and_nobody_is_asked_for_it(folder: Folder) -> None:
    key = load_pem_private_key(folder.key.read_bytes(), None)
    locked = BestAvailableEncryption(b"secret")
    text = key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, locked)
    folder.key.write_bytes(text)
    with pytest.raises(ConfigError, match="protected by a password"):
        folder.files()


@pytest.mark.parametrize("text", [b"", b"nothing of the kind", b"\xff\x00"])
def test_files_of_another_kind_are_named(folder: Folder, text: bytes) -> None:
    for path in (folder.key, folder.certificate):
        path.write_bytes(text)
        with pytest.raises(ConfigError) as told:
            folder.files()
        assert str(path) in str(told.value)
        assert "PEM form" in str(told.value)
