"""The names this machine answers to."""

from __future__ import annotations

import socket

import pytest

from pullcall.network.names import as_label, host_name, local_name, own_names


@pytest.mark.parametrize(
    ("name", "label"),
    [
        ("Pit", "pit"),
        ("pit.example.org", "pit"),
        ("my_pit", "my-pit"),
        ("-Björn's pit-", "bj-rn-s-pit"),
        ("p" * 80, "p" * 63),
        ("", "pullcall"),
        ("...", "pullcall"),
    ],
)
def test_a_name_becomes_one_label_that_can_stand_in_an_address(name: str, label: str) -> None:
    assert as_label(name) == label


def test_the_announced_name_comes_first_and_none_comes_twice(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(socket, "gethostname", lambda: "Pit.lan")
    assert host_name() == "pit"
    assert local_name("Pullcall") == "pullcall.local"
    names = own_names("pullcall", ["Grill.LAN.", "pit.local"])
    assert names == ("pullcall.local", "pit.local", "pit", "grill.lan")


def test_a_machine_without_a_name_of_its_own_is_not_confused_with_any_other(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(socket, "gethostname", lambda: "localhost")
    assert own_names("pullcall") == ("pullcall.local",)
