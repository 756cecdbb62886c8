"""The cook's own certificate and key, as another program keeps them."""

from __future__ import annotations

import logging
import ssl
from pathlib import Path
from typing import NoReturn

from cryptography import x509

from pullcall.clock import Clock
from pullcall.errors import ConfigError
from pullcall.tls.context import serve_with, server_context
from pullcall.tls.watching import Adopt, look_again, nothing_new

_log = logging.getLogger(__name__)

_Stamp = tuple[tuple[int, int, int], ...]


class CertificateFiles:
    """Serves with the certificate (and its chain) and the key in two PEM files.

    They are loaded again when they change on disk, as they do when they are renewed; files that
    do not fit each other (yet) are left until they do.
    """

    #: There is no authority of this site that phones would have to trust.
    fingerprint: None = None
    authority_der: None = None

    def __init__(self, certificate: Path, key: Path, clock: Clock) -> None:
        """Load both. Raises ConfigError, saying what to do."""
        self._certificate = certificate
        self._key = key
        self._clock = clock
        self._context = server_context()
        self.names: tuple[str, ...] = ()
        self._stamp: _Stamp = ()
        self._kind: type | None = None
        self.look()

    def context(self) -> ssl.SSLContext:
        """For the page's server; always the same one."""
        return self._context

    async def watch(self) -> None:
        """Look every ten seconds until cancelled."""
        await look_again(self._find, self._clock)

    def look(self) -> None:
        """Load the files if they changed. Raises ConfigError, and goes on with what it has."""
        self._find()()

    def _find(self) -> Adopt:
        """Read the files if they changed, beside the connections; gives what serves with them."""
        stamp = (_stamp(self._certificate), _stamp(self._key))
        if stamp == self._stamp:
            return nothing_new
        found, key = _text(self._certificate), _text(self._key)
        certificate = self._parsed(found)
        kind = type(certificate.public_key())
        if self._kind not in (None, kind):
            # A context keeps one certificate for each kind of key, and would go on with the old.
            raise ConfigError("The new key is of another kind: start Pullcall again to serve it.")
        # First on trial: a context with a certificate and no key would refuse every phone.
        self._load(server_context(), found, key)

        def adopt() -> None:
            self._load(self._context, found, key)
            self._stamp, self._kind, self.names = stamp, kind, _names_of(certificate)
            _log.info("serving with %s for %s", self._certificate, ", ".join(self.names))

        return adopt

    def _load(self, context: ssl.SSLContext, certificate: bytes, key: bytes) -> None:
        try:
            serve_with(context, certificate, key, _refuse_password)
        except ssl.SSLError as exc:
            raise ConfigError(self._complaint(exc)) from exc

    def _parsed(self, certificate: bytes) -> x509.Certificate:
        """The first one of the file. Raises ConfigError."""
        try:
            return x509.load_pem_x509_certificate(certificate)
        except ValueError as exc:
            raise ConfigError(
                f"{self._certificate} is not a certificate in PEM form: check [page] in "
                "pullcall.toml."
            ) from exc

    def _complaint(self, error: ssl.SSLError) -> str:
        if error.reason == "KEY_VALUES_MISMATCH":
            return (
                f"{self._certificate} and {self._key} do not belong together: give the key of the "
                "first certificate in the file."
            )
        return (
            f"{self._key} is not a key in PEM form for {self._certificate} "
            f"({error.reason or error}): check [page] in pullcall.toml."
        )


def _stamp(path: Path) -> tuple[int, int, int]:
    """What is different once a file was changed or replaced. Raises ConfigError."""
    try:
        with path.open("rb"):
            found = path.stat()
    except OSError as exc:
        raise _unreadable(path, exc) from exc
    return found.st_ino, found.st_size, found.st_mtime_ns


def _text(path: Path) -> bytes:
    """What a file holds. Raises ConfigError."""
    try:
        return path.read_bytes()
    except OSError as exc:
        raise _unreadable(path, exc) from exc


def _unreadable(path: Path, error: OSError) -> ConfigError:
    return ConfigError(
        f"Cannot read {path} ({error.strerror}): check certificate and key in [page] of "
        "pullcall.toml, and who may read them."
    )


def _names_of(certificate: x509.Certificate) -> tuple[str, ...]:
    """The names a certificate is for, without wildcards."""
    try:
        subjects = certificate.extensions.get_extension_for_class(x509.SubjectAlternativeName)
    except (x509.ExtensionNotFound, ValueError):
        return ()
    called = subjects.value.get_values_for_type(x509.DNSName)
    return tuple(name.lower() for name in called if "*" not in name)


def _refuse_password() -> NoReturn:
    raise ConfigError("The key is protected by a password: give one without, readable by you only.")
