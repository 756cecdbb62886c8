"""Secrets, codes, tickets, names and passes that strangers bring."""

from __future__ import annotations

from contextlib import suppress

from pullcall.access.names import clean
from pullcall.access.records import WHOLE
from pullcall.access.register import Register
from pullcall.access.role import Role
from pullcall.access.terms import LONGEST_NAME
from pullcall.api.board.passes import Pass, Passes, Purpose, pass_of
from pullcall.errors import PairingError
from tests.fuzz.cards import Cards
from tests.fuzz.target import Target

_PASSES = Passes(bytes(range(32)))
_PASS = Pass(2_000_000_000, site="north", phone="ab12")
_GOOD = {purpose: _PASSES.signed(purpose, _PASS) for purpose in Purpose}
_WALL = "2026-06-13T14:00:00+00:00"


def check(data: bytes) -> None:
    """A line each: a secret, a name. Nobody gets in by what was not given to them."""
    cards = Cards(data)
    errors = "surrogatepass" if cards.byte() % 2 else "replace"
    with suppress(UnicodeDecodeError):
        secret, name = (cards.line().decode("utf-8", errors) for _ in range(2))
        _knock(secret, name)
        _show(secret)


def _knock(secret: str, name: str) -> None:
    register = Register(new_secret=lambda: "the-secret-of-the-test", new_code=lambda: "12345678")
    invited = register.invite(Role.WATCHER, name, None, WHOLE, 0.0)
    register.open_code(invited.invitation.id, 0.0)
    assert register.pairing_of(secret, 0.0) is None
    assert register.redeem(secret, 0.0) is None
    for claim in (register.claim_secret, register.claim_code):
        try:
            claimed = claim(secret, name, 0.0, _WALL)
        except PairingError:
            continue
        digits = "".join(c for c in secret if c not in "- " and not c.isspace())
        assert secret == "the-secret-of-the-test" or digits == "12345678"
        shown = claimed.pairing.name
        assert 1 <= len(shown) <= LONGEST_NAME and shown.isprintable()
        assert clean(shown) == shown


def _show(text: str) -> None:
    for purpose in Purpose:
        found = _PASSES.read(purpose, text, 1_900_000_000.0)
        if found is not None:
            assert text == _GOOD[purpose]
            assert pass_of(found.id) == found == _PASS


TARGET = Target(
    check,
    (
        b"\x00the-secret-of-the-test\nAnn's phone",
        b"\x00 1234-5678\n\xe2\x80\xaeenohP",
        b"\x00\xd9\xa1\xd9\xa2345678\n" + "ﷺ".encode() * 40,
        b"\x01\xed\xa0\x80\nPhone",
        *(b"\x00" + text.encode() for text in _GOOD.values()),
    ),
    (b"1.link.", b"1.cookie.", b"1.ticket.", b"2000000000", b".north.", b"12345678"),
    longest=600,
)
