"""Which addresses mean this machine itself, and which are the same."""

from __future__ import annotations

from ipaddress import IPv4Address, IPv6Address, ip_address

_NAME = "localhost"


def is_loopback(host: str) -> bool:
    """Whether a name or an address means this machine itself."""
    address = address_of(host)
    return host.lower() == _NAME if address is None else address.is_loopback


def address_of(text: str) -> IPv4Address | IPv6Address | None:
    """The address a text writes; None for a name.

    An IPv4 address in IPv6 form (a socket for both sees phones so) is the IPv4 address; the zone
    of a link-local one does not count.
    """
    try:
        address = ip_address(text.partition("%")[0])
    except ValueError:
        return None
    return getattr(address, "ipv4_mapped", None) or address


def in_url(host: str) -> str:
    """A name or an address as it stands in a URL: IPv6 in brackets."""
    return f"[{host}]" if ":" in host else host
