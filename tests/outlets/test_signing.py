"""Signatures, against published test vectors."""

from __future__ import annotations

import re
import textwrap
from pathlib import Path
from typing import Any

from pullcall.clock import RealClock
from pullcall.outlets.signing import hmac_sha256, signature_headers


def test_the_hmac_is_that_of_rfc_4231() -> None:
    # Source: RFC 4231, section 4.3, test case 2.
    digest = hmac_sha256(b"Jefe", b"what do ya want for nothing?")
    assert digest == "5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843"


def test_the_signature_covers_timestamp_a_dot_and_body() -> None:
    headers = signature_headers("Jefe", 1_781_358_000, b'{"id":"c1"}')
    expected = hmac_sha256(b"Jefe", b'1781358000.{"id":"c1"}')
    assert headers == {
        "Pullcall-Timestamp": "1781358000",
        "Pullcall-Signature": f"sha256={expected}",
    }


def test_without_a_secret_nothing_is_signed() -> None:
    assert signature_headers("", 1_781_358_000, b"{}") == {"Pullcall-Timestamp": "1781358000"}


def test_the_example_in_the_docs_verifies_a_signature_and_refuses_what_was_changed() -> None:
    text = (Path(__file__).parents[2] / "docs/outlets.md").read_text()
    [example] = re.findall(r"^    import hashlib.*?(?=\n\n)", text, re.MULTILINE | re.DOTALL)
    names: dict[str, Any] = {}
    exec(textwrap.dedent(example), names)
    now = int(RealClock().wall().timestamp())
    fresh, old = signature_headers("Jefe", now, b"{}"), signature_headers("Jefe", now - 600, b"{}")
    assert names["is_genuine"](fresh, b"{}", "Jefe")
    assert not names["is_genuine"](fresh, b"{ }", "Jefe")
    assert not names["is_genuine"](fresh, b"{}", "jefe")
    assert not names["is_genuine"](old, b"{}", "Jefe")
