"""What a site's authority may vouch for: this site alone, and nothing on the public network."""

from __future__ import annotations

from collections.abc import Iterable
from ipaddress import IPv4Network, IPv6Network, ip_network

from cryptography import x509

from pullcall.network.addresses import Address

#: Private, loopback, link-local, and shared by a carrier (RFC 1918, 1122, 3927, 6598, 4193, 4291).
_NETWORKS = tuple(
    map(
        ip_network,
        (
            "10.0.0.0/8",
            "172.16.0.0/12",
            "192.168.0.0/16",
            "127.0.0.0/8",
            "169.254.0.0/16",
            "100.64.0.0/10",
            "fc00::/7",
            "::1/128",
            "fe80::/10",
        ),
    )
)
_DOMAINS = ("local", "localhost")


def constraints(names: Iterable[str]) -> x509.NameConstraints:
    """The extension that permits private addresses, ``.local`` and ``names``, and nothing else."""
    domains = dict.fromkeys([*_DOMAINS, *(n for n in names if not _is_within(n, _DOMAINS))])
    permitted: list[x509.GeneralName] = [x509.DNSName(domain) for domain in domains]
    permitted += [x509.IPAddress(network) for network in _NETWORKS]
    return x509.NameConstraints(permitted, None)


def permits_name(constraints: x509.NameConstraints, name: str) -> bool:
    """Whether an authority with ``constraints`` may vouch for a name."""
    subtrees = constraints.permitted_subtrees or ()
    return _is_within(name, [one.value for one in subtrees if isinstance(one, x509.DNSName)])


def permits_address(constraints: x509.NameConstraints, address: Address) -> bool:
    """Whether an authority with ``constraints`` may vouch for an address."""
    subtrees = constraints.permitted_subtrees or ()
    networks = [one.value for one in subtrees if isinstance(one, x509.IPAddress)]
    return any(address in one for one in networks if isinstance(one, IPv4Network | IPv6Network))


def _is_within(name: str, domains: Iterable[str]) -> bool:
    return any(name == domain or name.endswith(f".{domain}") for domain in domains)
