"""Secrets and digests."""

from __future__ import annotations

import re
import secrets

import pytest

from pullcall.access.keys import digest, is_same, new_code, new_id, new_secret


def test_a_secret_is_128_bits_of_the_systems_randomness(monkeypatch: pytest.MonkeyPatch) -> None:
    """ASVS 7.2.3, 11.5.1: session tokens and other secrets have 128 bits from a CSPRNG."""
    asked: list[int | None] = []

    def bytes_of(size: int | None = None) -> bytes:
        asked.append(size)
        return b"\xff" * (size or 0)

    monkeypatch.setattr(secrets, "token_bytes", bytes_of)
    assert re.fullmatch("[A-Za-z0-9_-]{22}", new_secret())
    assert asked == [16]


def test_secrets_and_ids_do_not_repeat() -> None:
    assert len({new_secret() for _ in range(1000)}) == 1000
    assert len({new_id() for _ in range(1000)}) == 1000


def test_a_code_is_eight_digits_also_when_its_number_is_small(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """ASVS 6.5.3, 6.5.4: codes come from a CSPRNG and have at least 20 bits (these: 26)."""
    below: list[int] = []

    def small(limit: int) -> int:
        below.append(limit)
        return 7

    monkeypatch.setattr(secrets, "randbelow", small)
    assert new_code() == "00000007"
    assert below == [100_000_000]


def test_a_digest_is_sha_256() -> None:
    """ASVS 11.4.1: an approved hash. The answer for "abc" is the example of FIPS 180-2, B.1."""
    known = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert digest("abc") == known
    assert is_same(digest("abc"), known)
    assert not is_same(digest("abd"), known)


@pytest.mark.parametrize("odd", ["", "\ud800", "\x00", "é" * 4096])
def test_whatever_comes_from_the_network_has_a_digest(odd: str) -> None:
    assert re.fullmatch("[0-9a-f]{64}", digest(odd))
