"""Signed texts that let a watcher in at any board with the same secret, and are kept nowhere.

A text is ``1.PURPOSE.UNTIL.ENDS.DELAY.HIDES.SITE.PHONE.SIGNATURE``: the version, what it may be
used for and until when (seconds since 1970, as ENDS), what the watcher was let in for, and
HMAC-SHA256 over all of that in unpadded base64 for URLs.
"""

from __future__ import annotations

import base64
import hashlib
import hmac
import re
from dataclasses import dataclass
from enum import StrEnum
from typing import Literal

from pullcall.access.records import WHOLE, Sight
from pullcall.access.role import Role
from pullcall.bus.options import SITE

#: Bytes of a secret, as many as HMAC-SHA256 makes use of (RFC 2104, section 3).
SECRET_BYTES = 32
#: No pass is longer; what is longer is not even looked at.
LONGEST = 160
#: So that no text signed for anything else by the same secret is a pass.
_SIGNED_AS = b"pullcall board pass "
_CLAIMS = re.compile(
    rf"(?P<ends>\d{{1,12}})\.(?P<delay>\d{{1,4}})\.(?P<hides>[01])\.(?P<site>|{SITE.pattern})"
    r"\.(?P<phone>[\w-]{0,32})",
    re.ASCII,
)
_TEXT = re.compile(
    rf"1\.(?P<purpose>[a-z]+)\.(?P<until>\d{{1,12}})\.(?P<id>{_CLAIMS.pattern})", re.ASCII
)


class Purpose(StrEnum):
    """What a signed text may be used for."""

    LINK = "link"
    COOKIE = "cookie"
    TICKET = "ticket"


@dataclass(frozen=True, slots=True)
class Pass:
    """What a watcher was let in for.

    ``ends`` is wall time, seconds since 1970. ``site``: the only one shown; None: all of them.
    ``phone`` tells those that came by one link apart.
    """

    ends: int
    sight: Sight = WHOLE
    site: str | None = None
    phone: str = ""

    @property
    def role(self) -> Literal[Role.WATCHER]:
        """Boards are looked at, and nothing else."""
        return Role.WATCHER

    @property
    def name(self) -> str:
        """What the phone is called."""
        return "Watcher"

    @property
    def id(self) -> str:
        """All of it as a text, unsigned: it opens nothing."""
        sight = f"{self.sight.delay_s:.0f}.{self.sight.hides_targets:d}"
        return f"{self.ends}.{sight}.{self.site or ''}.{self.phone}"


class Passes:
    """Signs and reads. Raises ValueError for a secret that is none."""

    def __init__(self, secret: bytes) -> None:
        if len(secret) != SECRET_BYTES:
            raise ValueError(f"a secret has {SECRET_BYTES} bytes")
        self._secret = secret

    def signed(self, purpose: Purpose, what: Pass, until: int | None = None) -> str:
        """A text for one purpose, good until the pass ends or ``until``, whichever is first."""
        until = what.ends if until is None else min(until, what.ends)
        text = f"1.{purpose}.{until}.{what.id}"
        return f"{text}.{self._signature(text)}"

    def read(self, purpose: Purpose, text: str, now: float) -> Pass | None:
        """What a text lets in for; None for another purpose, one that is over, or a forgery.

        ``now`` is wall time, seconds since 1970.
        """
        if len(text) > LONGEST or not text.isascii():
            return None
        said, _, signature = text.rpartition(".")
        if not hmac.compare_digest(signature, self._signature(said)):
            return None
        found = _TEXT.fullmatch(said)
        if found is None or found["purpose"] != purpose or now >= int(found["until"]):
            return None
        return pass_of(found["id"])

    def _signature(self, text: str) -> str:
        digest = hmac.digest(self._secret, _SIGNED_AS + text.encode(), hashlib.sha256)
        return base64.urlsafe_b64encode(digest).rstrip(b"=").decode()


def pass_of(id: str) -> Pass:
    """The pass that :attr:`Pass.id` was made from."""
    found = _CLAIMS.fullmatch(id)
    assert found is not None, "an id is made from a pass"
    sight = Sight(float(found["delay"]), found["hides"] == "1")
    return Pass(int(found["ends"]), sight, found["site"] or None, found["phone"])
