"""Keeps the site's authority and its certificate, and the certificate true to the machine."""

from __future__ import annotations

import logging
import ssl
from collections.abc import Callable, Iterable
from functools import partial
from ipaddress import ip_address
from pathlib import Path

from cryptography import x509
from cryptography.exceptions import InvalidSignature

from pullcall.clock import Clock
from pullcall.errors import ConfigError
from pullcall.network.addresses import Address, own_addresses
from pullcall.network.loopback import address_of
from pullcall.network.names import host_name
from pullcall.tls.authority import constraints_of, der, fingerprint, make_authority, make_leaf
from pullcall.tls.context import serve_with, server_context
from pullcall.tls.credential import Credential
from pullcall.tls.permitted import permits_address, permits_name
from pullcall.tls.safe import Safe
from pullcall.tls.validity import is_due, is_plausible, made_at, reckoned
from pullcall.tls.watching import Adopt, look_again, nothing_new

_log = logging.getLogger(__name__)

_AUTHORITY, _LEAF = "authority", "leaf"
_LOOPBACK: tuple[Address, ...] = (ip_address("127.0.0.1"), ip_address("::1"))


class CertificateKeeper:
    """The authority in ``folder``, and a certificate of it for this machine's present addresses.

    The certificate is made anew when the machine has an address or a name that is not in it, when
    it nears its end, and once a clock that was not set is plausible; the context goes on, and
    open connections with it. Phones that trust the authority notice nothing; those that were
    clicked through are asked again, so it is never made anew without need: an address that went
    stays in it.
    """

    def __init__(
        self,
        folder: Path,
        names: Iterable[str],
        clock: Clock,
        addresses: Callable[[], tuple[Address, ...]] = own_addresses,
    ) -> None:
        """Load what is kept, or make it. Raises ConfigError, saying what to do."""
        named = {name: address_of(name) for name in ("localhost", *names)}
        self._names = tuple(name for name, address in named.items() if address is None)
        self._always = (*_LOOPBACK, *(one for one in named.values() if one is not None))
        self._addresses = addresses
        self._clock = clock
        self._context = server_context()
        self._is_guess = False
        self._told: frozenset[str] = frozenset()
        try:
            self._safe = Safe(folder)
            self._authority = self._kept_authority() or self._new_authority()
            leaf = self._good_leaf(self._kept_leaf())
        except OSError as exc:
            raise ConfigError(
                f"Cannot keep the page's certificate in {folder} ({exc.strerror}): let this user "
                'write there, or set tls = "files" in [page] of pullcall.toml and give your own.'
            ) from exc
        self._serve_with(leaf)

    def context(self) -> ssl.SSLContext:
        """For the page's server; always the same one."""
        return self._context

    @property
    def fingerprint(self) -> str:
        """SHA-256 of the authority, in groups for people."""
        return fingerprint(self._authority.certificate)

    @property
    def authority_der(self) -> bytes:
        """The authority's certificate, to be handed to phones."""
        return der(self._authority)

    async def watch(self) -> None:
        """Look every ten seconds until cancelled."""
        await look_again(self._find, self._clock)

    def look(self) -> None:
        """Make the certificate anew if there is need. Raises OSError if it cannot be kept."""
        self._find()()

    def _find(self) -> Adopt:
        """Make it anew if there is need, beside the connections; gives what serves with it."""
        now = self._clock.wall()
        is_old = is_plausible(now) and (self._is_guess or is_due(self._leaf.validity, now))
        if not is_old and self._covers(self._leaf):
            return nothing_new
        return partial(self._serve_with, self._make_leaf(self._leaf))

    def _kept_authority(self) -> Credential | None:
        authority = self._safe.read(_AUTHORITY)
        if authority is None:
            return None
        try:
            constraints_of(authority)
        except (x509.ExtensionNotFound, ValueError):
            self._safe.set_aside(_AUTHORITY, "it is not limited to this site")
            return None
        if self._clock.wall() > authority.validity.ends:
            # Not made anew by itself: phones would have to trust again because a clock was wrong.
            _log.warning("the authority's time is over: delete %s", self._safe.path(_AUTHORITY))
        return authority

    def _new_authority(self) -> Credential:
        now = reckoned(self._clock.wall(), None)
        authority = make_authority(host_name(), self._names, now)
        self._safe.write(_AUTHORITY, authority)
        return authority

    def _kept_leaf(self) -> Credential | None:
        leaf = self._safe.read(_LEAF)
        return leaf if leaf is not None and self._is_of_authority(leaf) else None

    def _good_leaf(self, kept: Credential | None) -> Credential:
        """The certificate kept, or a new one."""
        now = self._clock.wall()
        if kept is None or not self._covers(kept):
            return self._make_leaf(kept)
        if is_plausible(now) and is_due(kept.validity, now, at_start=True):
            return self._make_leaf(kept)
        return kept

    def _make_leaf(self, before: Credential | None) -> Credential:
        """Make a certificate and keep it. Raises OSError."""
        wall = self._clock.wall()
        now = reckoned(wall, None if before is None else made_at(before.validity))
        names, addresses = self._wanted()
        leaf = make_leaf(self._authority, host_name(), names, addresses, now)
        self._safe.write(_LEAF, leaf)
        self._is_guess = not is_plausible(wall)
        _log.info("made a certificate for %s", ", ".join([*names, *map(str, addresses)]))
        return leaf

    def _serve_with(self, leaf: Credential) -> None:
        text = leaf.to_pem()
        serve_with(self._context, text, text)
        self._leaf = leaf

    def _is_of_authority(self, leaf: Credential) -> bool:
        try:
            leaf.certificate.verify_directly_issued_by(self._authority.certificate)
        except (ValueError, TypeError, InvalidSignature):
            return False
        return True

    def _covers(self, leaf: Credential) -> bool:
        """Whether every name and address that may be in it is in it."""
        extensions = leaf.certificate.extensions
        held = extensions.get_extension_for_class(x509.SubjectAlternativeName).value
        names, addresses = self._wanted()
        return set(names) <= set(held.get_values_for_type(x509.DNSName)) and set(addresses) <= set(
            held.get_values_for_type(x509.IPAddress)
        )

    def _wanted(self) -> tuple[list[str], list[Address]]:
        """What the authority may vouch for, of what this machine is called by."""
        limits = constraints_of(self._authority)
        called = list(dict.fromkeys((*self._always, *self._addresses())))
        names = [name for name in self._names if permits_name(limits, name)]
        addresses = [address for address in called if permits_address(limits, address)]
        self._tell({*self._names, *map(str, called)} - {*names, *map(str, addresses)})
        return names, addresses

    def _tell(self, unvouched: set[str]) -> None:
        """Say once of each name and address that browsers will warn there."""
        for one in sorted(unvouched - self._told):
            _log.warning(
                "Browsers will warn at %s, which is public, or new since the authority was made: "
                "open the page at another address, or give your own certificate.",
                one,
            )
        self._told |= unvouched
