"""Which hosts mean this machine itself."""

from __future__ import annotations

import pytest

from pullcall.network.loopback import address_of, is_loopback


@pytest.mark.parametrize("host", ["127.0.0.1", "127.9.9.9", "::1", "localhost", "::ffff:127.0.0.1"])
def test_loopback_addresses_and_names_are_this_machine(host: str) -> None:
    assert is_loopback(host)


@pytest.mark.parametrize(
    "host", ["192.168.1.5", "grill.local", "localhost.evil.example", "", "fe80::1%wlan0"]
)
def test_everything_else_is_not(host: str) -> None:
    assert not is_loopback(host)


def test_an_address_is_the_same_in_both_forms() -> None:
    assert address_of("::ffff:192.168.1.5") == address_of("192.168.1.5")
    assert address_of("grill.local") is None
