"""Who asks, and what they may do."""

from __future__ import annotations

from dataclasses import dataclass

from starlette.requests import HTTPConnection

from pullcall.access.records import WHOLE, Sight
from pullcall.access.role import RIGHTS, Right, Role
from pullcall.api.admission import Admission, Guest
from pullcall.api.front import Front
from pullcall.api.guard.hosts import host_of
from pullcall.api.token_cookie import token_of
from pullcall.network.loopback import is_loopback

#: What proxies say of a request that they pass on, besides all that begins with x-forwarded-:
#: RFC 7239 and RFC 9110 (7.6.3), the others are common practice.
_FORWARDED = frozenset(
    {"forwarded", "via", "x-real-ip", "x-client-ip", "cf-connecting-ip", "true-client-ip"}
)
_PLAIN_NOTE = (
    "This page is not encrypted, so phones can only watch: set [page] tls, or plain_control = true."
)


@dataclass(frozen=True, slots=True)
class Visitor:
    """``role`` is None for somebody who is not paired; ``here`` is this machine's own browser.

    ``note`` says why there are fewer rights than the role has.
    """

    role: Role | None = None
    name: str | None = None
    rights: frozenset[Right] = frozenset()
    sight: Sight = WHOLE
    pairing: str | None = None
    here: bool = False
    note: str | None = None

    def by(self, said: str) -> str:
        """Who answers a call: the paired phone's name, or what this machine's page says."""
        return said if self.here or self.name is None else self.name


def is_here(connection: HTTPConnection) -> bool:
    """Whether this machine itself asks, by a name of its own, and no proxy on it for others."""
    client = connection.client.host if connection.client else ""
    is_own = is_loopback(client) and is_loopback(host_of(connection.scope))
    return is_own and not any(map(_tells_of_a_proxy, connection.headers))


def _tells_of_a_proxy(header: str) -> bool:
    return header in _FORWARDED or header.startswith("x-forwarded-")


def visitor_of(connection: HTTPConnection) -> Visitor:
    """Who asks, by the cookie that they got when they were let in."""
    if is_here(connection):
        front: Front = connection.app.state.front
        return Visitor(front.owner, "this machine", RIGHTS[front.owner], here=True)
    admission: Admission = connection.app.state.access
    token = token_of(connection, admission.cookie)
    guest = admission.pairing_of(token) if token else None
    return Visitor() if guest is None else paired(connection, guest)


def paired(connection: HTTPConnection, guest: Guest) -> Visitor:
    """A paired phone; over plain http it only watches, unless that is allowed."""
    front: Front = connection.app.state.front
    rights, note = RIGHTS[guest.role], None
    encrypted = connection.scope["scheme"] in ("https", "wss")
    if not encrypted and not front.plain_control and rights != RIGHTS[Role.WATCHER]:
        rights, note = RIGHTS[Role.WATCHER], _PLAIN_NOTE
    return Visitor(guest.role, guest.name, rights, guest.sight, guest.id, here=False, note=note)
