"""The addresses of this machine's interfaces, the likeliest for a phone first."""

from __future__ import annotations

import socket
from collections.abc import Iterable
from dataclasses import dataclass
from ipaddress import IPv4Address, IPv6Address, ip_address
from pathlib import Path

import ifaddr

Address = IPv4Address | IPv6Address

#: Addresses reserved for documentation: a route towards them is the default route.
_ELSEWHERE = ((socket.AF_INET, "192.0.2.1"), (socket.AF_INET6, "2001:db8::1"))
#: Linux's list of IPv6 addresses: address, interface, prefix, scope, flags (hex), name.
_IF_INET6 = Path("/proc/net/if_inet6")
_IFA_F_TEMPORARY = 0x01  # linux/if_addr.h


@dataclass(frozen=True, slots=True)
class Found:
    """An address and the number of the interface that has it."""

    address: Address
    interface: int


def own_addresses() -> tuple[Address, ...]:
    """Every address at which others may reach this machine, in an order that stays.

    Without loopback, without link-local IPv6 (no link can be written for it) and without
    temporary IPv6 (it changes by itself, and nobody is sent there).
    """
    return in_order(_found(), _routed(), _temporary())


def in_order(
    found: Iterable[Found], routed: frozenset[Address], temporary: frozenset[Address]
) -> tuple[Address, ...]:
    """The default route's address first, IPv4 before IPv6, networks without a server last."""
    usable = {one.address: one for one in found if _is_usable(one.address)}
    kept = [one for one in usable.values() if one.address not in temporary]

    def place(one: Found) -> tuple[bool, int, bool, int, int]:
        address = one.address
        return (
            address not in routed,
            address.version,
            address.is_link_local,
            one.interface,
            int(address),
        )

    return tuple(one.address for one in sorted(kept, key=place))


def temporary_in(table: str) -> frozenset[Address]:
    """The temporary addresses in the text of Linux's ``/proc/net/if_inet6``."""
    rows = [line.split() for line in table.splitlines()]
    return frozenset(
        IPv6Address(bytes.fromhex(row[0])) for row in rows if int(row[4], 16) & _IFA_F_TEMPORARY
    )


def _is_usable(address: Address) -> bool:
    if address.is_loopback or address.is_unspecified or address.is_multicast:
        return False
    return address.version == 4 or not address.is_link_local


def _found() -> list[Found]:
    return [
        Found(ip_address(ip.ip if isinstance(ip.ip, str) else ip.ip[0]), adapter.index or 0)
        for adapter in ifaddr.get_adapters()
        for ip in adapter.ips
    ]


def _routed() -> frozenset[Address]:
    """The addresses the kernel would send from; connecting a datagram socket sends nothing."""
    return frozenset(own for family, far in _ELSEWHERE for own in _sender(family, far))


def _sender(family: socket.AddressFamily, far: str) -> list[Address]:
    try:
        with socket.socket(family, socket.SOCK_DGRAM) as probe:
            probe.connect((far, 9))
            return [ip_address(probe.getsockname()[0])]
    except OSError:
        return []


def _temporary() -> frozenset[Address]:
    try:
        return temporary_in(_IF_INET6.read_text(encoding="ascii"))
    except OSError:
        return frozenset()
