"""Announces the page on the network by mDNS, so that phones find it by its name."""

from __future__ import annotations

import asyncio
import contextlib
import logging
from collections.abc import Callable

from zeroconf import (  # type: ignore[attr-defined]  # the resolver is public, not in __all__
    AddressResolver,
    DNSQuestionType,
    Error,
    IPVersion,
)
from zeroconf.asyncio import AsyncServiceInfo, AsyncZeroconf

from pullcall.clock import Clock
from pullcall.errors import PullcallError
from pullcall.network.addresses import Address, own_addresses
from pullcall.network.names import host_name, local_name

_log = logging.getLogger(__name__)

#: How often the machine's addresses are looked at, seconds.
LOOK_S = 10.0
#: How long another machine of the same name has to answer. It does not repeat an answer to all
#: within a second (RFC 6762 section 6), and may be asleep; and all are asked, because one answered
#: alone may be another responder of this machine, which shares the port.
LISTEN_MS = 3000
#: How long saying goodbye may take, seconds; it takes a quarter of one.
_GOODBYE_S = 0.8
#: The longest label in a name (RFC 1035), bytes.
_LONGEST_LABEL = 63


class AnnouncementError(PullcallError):
    """The page is not announced; its sentence says what to do meanwhile."""


def open_network(addresses: tuple[Address, ...]) -> AsyncZeroconf:
    """Listen and speak on the interfaces that have ``addresses``. Raises OSError."""
    return AsyncZeroconf(interfaces=[str(address) for address in addresses])


class Announcer:
    """Keeps ``NAME.local`` and a web service announced while it runs. Where that fails, phones
    have the address in the QR code."""

    def __init__(
        self,
        name: str,
        port: int,
        clock: Clock,
        *,
        is_secure: bool = True,
        listen_ms: int = LISTEN_MS,
        addresses: Callable[[], tuple[Address, ...]] = own_addresses,
        open_network: Callable[[tuple[Address, ...]], AsyncZeroconf] = open_network,
    ) -> None:
        self._name = local_name(name)
        self._port = port
        self._clock = clock
        self._is_secure = is_secure
        self._listen_ms = listen_ms
        self._addresses = addresses
        self._open = open_network

    async def run(self) -> None:
        """Announce until cancelled; then take the announcement back, within a second.

        Raises AnnouncementError.
        """
        try:
            while True:
                await self._announce_until_changed()
        except (OSError, Error) as exc:
            raise AnnouncementError(f"{self._missed} ({type(exc).__name__}: {exc}).") from exc

    @property
    def _missed(self) -> str:
        return f"{self._name} is not announced: open the page by its address"

    async def _announce_until_changed(self) -> None:
        """Announce at the addresses there are; return once they are others."""
        addresses = self._addresses()
        if addresses:
            network = self._open(addresses)
            try:
                await self._register(network, addresses)
                await self._until_changed(addresses)
            finally:
                await _close(network)
        else:
            await self._wait(LOOK_S)

    async def _register(self, network: AsyncZeroconf, addresses: tuple[Address, ...]) -> None:
        await self._check_free(network, addresses)
        info = self.service(addresses)
        await (await network.async_register_service(info, allow_name_change=True))
        _log.info("announced as %s at %s", self._name, ", ".join(map(str, addresses)))

    def service(self, addresses: tuple[Address, ...]) -> AsyncServiceInfo:
        """What is announced."""
        kind = f"_{'https' if self._is_secure else 'http'}._tcp.local."
        label = f"Pullcall on {host_name()}".encode()[:_LONGEST_LABEL].decode()
        return AsyncServiceInfo(
            kind,
            f"{label}.{kind}",
            port=self._port,
            server=f"{self._name}.",
            addresses=[address.packed for address in addresses],
            properties={"path": "/"},
        )

    async def _check_free(self, network: AsyncZeroconf, addresses: tuple[Address, ...]) -> None:
        """Rivals may run this too: two machines of one name would get each other's phones."""
        resolver = AddressResolver(f"{self._name}.")
        await resolver.async_request(network.zeroconf, self._listen_ms, DNSQuestionType.QM)
        others = {str(one) for one in resolver.ip_addresses_by_version(IPVersion.All)}
        # Another responder of this machine itself may answer too, with its addresses.
        if others and others.isdisjoint(map(str, addresses)):
            raise AnnouncementError(
                f"{self._missed}. Another machine on this network is called that: give this one "
                "another name in [page] of pullcall.toml."
            )

    async def _until_changed(self, addresses: tuple[Address, ...]) -> None:
        while self._addresses() == addresses:
            await self._wait(LOOK_S)

    async def _wait(self, seconds: float) -> None:
        await self._clock.sleep_until(self._clock.monotonic() + seconds)


async def _close(network: AsyncZeroconf) -> None:
    """Say goodbye; a network that is gone does not keep the site from stopping."""
    try:
        async with asyncio.timeout(_GOODBYE_S):
            await network.async_close()
    except Exception:
        _log.debug("the announcement was not taken back", exc_info=True)
        with contextlib.suppress(Exception):
            network.zeroconf.close()
