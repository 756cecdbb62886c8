"""Which of this machine's addresses phones are sent to, and in what order."""

from __future__ import annotations

import socket
from ipaddress import ip_address

from pullcall.network.addresses import Found, in_order, own_addresses, temporary_in


def found(*addresses: tuple[str, int]) -> list[Found]:
    return [Found(ip_address(text), interface) for text, interface in addresses]


def order(
    *addresses: tuple[str, int], routed: tuple[str, ...] = (), temporary: tuple[str, ...] = ()
) -> list[str]:
    ordered = in_order(
        found(*addresses),
        frozenset(map(ip_address, routed)),
        frozenset(map(ip_address, temporary)),
    )
    return list(map(str, ordered))


def test_the_address_of_the_default_route_comes_first() -> None:
    addresses = [("172.17.0.1", 2), ("192.168.1.20", 3)]
    assert order(*addresses, routed=("192.168.1.20",)) == ["192.168.1.20", "172.17.0.1"]


def test_of_a_default_route_the_old_protocol_comes_first() -> None:
    addresses = [("fd00::2", 3), ("192.168.1.20", 3), ("10.0.0.1", 2)]
    routed = ("fd00::2", "192.168.1.20")
    assert order(*addresses, routed=routed) == ["192.168.1.20", "fd00::2", "10.0.0.1"]


def test_without_a_default_route_a_network_with_a_server_comes_first() -> None:
    addresses = [("169.254.7.7", 2), ("10.42.0.1", 5), ("192.168.1.20", 3)]
    assert order(*addresses) == ["192.168.1.20", "10.42.0.1", "169.254.7.7"]


def test_the_order_does_not_depend_on_the_order_found() -> None:
    addresses = [("10.0.0.9", 3), ("10.0.0.10", 3), ("fd00::3", 3), ("192.168.4.1", 2)]
    expected = ["192.168.4.1", "10.0.0.9", "10.0.0.10", "fd00::3"]
    assert order(*addresses) == order(*reversed(addresses)) == expected


def test_what_no_phone_can_open_is_left_out() -> None:
    here = [("127.0.0.1", 1), ("::1", 1), ("fe80::1", 3), ("0.0.0.0", 4), ("10.0.0.9", 3)]
    assert order(*here) == ["10.0.0.9"]


def test_an_address_that_changes_by_itself_is_left_out() -> None:
    addresses = [("fd00::2", 3), ("fd00::abcd", 3)]
    assert order(*addresses, temporary=("fd00::abcd",)) == ["fd00::2"]


def test_two_interfaces_may_have_the_same_address() -> None:
    assert order(("10.0.0.9", 3), ("10.0.0.9", 4)) == ["10.0.0.9"]


def test_temporary_addresses_are_read_from_the_kernels_list() -> None:
    # The columns are those of the kernel's net/ipv6/addrconf.c; 01 is IFA_F_TEMPORARY.
    table = (
        "fd000000000000000000000000000002 04 40 00 82     eth0\n"
        "fd0000000000000000000000abcd0001 04 40 00 01     eth0\n"
        "00000000000000000000000000000001 01 80 10 80       lo\n"
    )
    assert temporary_in(table) == {ip_address("fd00::abcd:1")}
    assert temporary_in("") == frozenset()


def test_this_machines_addresses_can_be_served_on() -> None:
    addresses = own_addresses()
    assert not any(address.is_loopback for address in addresses)
    assert list(addresses) == list(dict.fromkeys(addresses))
    for address in addresses:
        family = socket.AF_INET6 if address.version == 6 else socket.AF_INET
        with socket.socket(family, socket.SOCK_STREAM) as listener:
            listener.bind((str(address), 0))  # an address of another machine is refused here
