"""A pass is good as it was signed, for its purpose, until its end, and in no other way.

Requirements are those of OWASP ASVS, checked against its 5.0.0 text.
"""

from __future__ import annotations

import base64
import hashlib
import hmac
from unittest import mock

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pullcall.access.records import Sight
from pullcall.api.board.passes import LONGEST, Pass, Passes, Purpose, pass_of

SECRET, OTHER = bytes(32), bytes([1] * 32)
NOW = 1_781_000_000.0
ENDS = 1_781_043_200
PASS = Pass(ENDS, Sight(120.0, hides_targets=True), "north", "a1b2c3")
LINK = Passes(SECRET).signed(Purpose.LINK, PASS)

sights = st.builds(Sight, st.sampled_from([0.0, 60.0, 600.0]), st.booleans())
sites = st.none() | st.from_regex(r"[a-z0-9]([a-z0-9-]{0,30}[a-z0-9])?", fullmatch=True)
passes = st.builds(
    Pass,
    st.integers(int(NOW) + 1, 10**11),
    sights,
    sites,
    st.from_regex(r"[a-f0-9]{0,12}", fullmatch=True),
)


@given(passes, st.sampled_from(Purpose))
def test_what_was_signed_is_read_back_whole(what: Pass, purpose: Purpose) -> None:
    text = Passes(SECRET).signed(purpose, what)
    assert len(text) <= LONGEST
    assert Passes(SECRET).read(purpose, text, NOW) == what
    assert pass_of(what.id) == what


@given(st.integers(0, len(LINK) - 1), st.characters(codec="utf-8"))
def test_one_changed_letter_makes_it_worthless(at: int, letter: str) -> None:
    """ASVS 9.1.1: the signature is checked before anything of the text is believed."""
    changed = LINK[:at] + letter + LINK[at + 1 :]
    if changed != LINK:
        assert Passes(SECRET).read(Purpose.LINK, changed, NOW) is None


@pytest.mark.parametrize(
    "text",
    ["", ".", LINK + "=", LINK + " ", LINK[:-1], LINK.rpartition(".")[0], LINK * 9, "ü." + LINK],
)
def test_what_is_no_pass_is_refused(text: str) -> None:
    """ASVS 9.1.1, and 11.2.5: nonsense is refused like a forgery, without an error."""
    assert Passes(SECRET).read(Purpose.LINK, text, NOW) is None


@pytest.mark.parametrize("purpose", [one for one in Purpose if one is not Purpose.LINK])
def test_a_pass_is_good_for_its_own_purpose_only(purpose: Purpose) -> None:
    """ASVS 9.2.2: a link is no cookie, and no ticket."""
    assert Passes(SECRET).read(purpose, LINK, NOW) is None


def test_a_pass_ends_when_it_says() -> None:
    """ASVS 9.2.1."""
    assert Passes(SECRET).read(Purpose.LINK, LINK, ENDS - 0.001) == PASS
    assert Passes(SECRET).read(Purpose.LINK, LINK, ENDS) is None


def test_a_ticket_ends_with_its_own_time_and_never_after_its_pass() -> None:
    """ASVS 9.2.1."""
    soon = int(NOW) + 30
    ticket = Passes(SECRET).signed(Purpose.TICKET, PASS, soon)
    assert Passes(SECRET).read(Purpose.TICKET, ticket, soon - 1) == PASS
    assert Passes(SECRET).read(Purpose.TICKET, ticket, soon) is None
    late = Passes(SECRET).signed(Purpose.TICKET, PASS, ENDS + 30)
    assert Passes(SECRET).read(Purpose.TICKET, late, ENDS) is None


def test_another_secret_makes_another_board() -> None:
    """ASVS 9.1.3: a text cannot say by which key it is to be checked."""
    assert Passes(OTHER).read(Purpose.LINK, LINK, NOW) is None
    assert Passes(OTHER).read(Purpose.LINK, Passes(OTHER).signed(Purpose.LINK, PASS), NOW) == PASS


def test_what_the_secret_signed_for_another_use_is_no_pass() -> None:
    """ASVS 9.2.3: the webhook, say, might be given the same secret."""
    said = LINK.rpartition(".")[0]
    digest = hmac.digest(SECRET, said.encode(), hashlib.sha256)
    text = f"{said}.{base64.urlsafe_b64encode(digest).rstrip(b'=').decode()}"
    assert Passes(SECRET).read(Purpose.LINK, text, NOW) is None


def test_signatures_are_compared_in_constant_time() -> None:
    """ASVS 11.2.4: by the library's own comparison, once for each text."""
    with mock.patch("pullcall.api.board.passes.hmac.compare_digest", return_value=False) as same:
        assert Passes(SECRET).read(Purpose.LINK, LINK, NOW) is None
    assert same.call_count == 1


@pytest.mark.parametrize("secret", [b"", bytes(31), bytes(33)])
def test_a_secret_of_another_length_is_none(secret: bytes) -> None:
    """ASVS 11.2.3: at least 128 bits; here always 256."""
    with pytest.raises(ValueError, match="32 bytes"):
        Passes(secret)
