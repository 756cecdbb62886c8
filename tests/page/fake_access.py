"""Who may do what at the scripted site: cookies, invitations, tickets and rights."""

from __future__ import annotations

import secrets
import time
from dataclasses import dataclass, field
from typing import Any

import segno

RIGHTS = {"cook": ["read", "act", "rule"], "hand": ["read", "act"], "watcher": ["read"]}
NOBODY: dict[str, Any] = {
    "role": None,
    "name": None,
    "rights": [],
    "delay_s": 0,
    "hides_targets": False,
    "here": False,
    "note": None,
}
OWNER = {**NOBODY, "role": "cook", "name": "this machine", "rights": RIGHTS["cook"], "here": True}
OPEN = {("GET", "visitor"), ("POST", "pairings")}
#: The right that each noun of the API needs, for methods that change something and for reading.
NEEDED = {"snapshot": "read", "events": "read", "tickets": "read", "steaks": "rule", "cook": "rule",
          "pairings": "rule", "invitations": "rule"}  # fmt: skip
#: What of the nouns that a hand may read only a cook may change.
RULED = {("POST", "cooks"), ("PATCH", "cooks"), ("DELETE", "cooks"), ("PUT", "learned"),
         ("POST", "restore"), ("POST", "import")}  # fmt: skip
REFUSED = "This code is wrong or has run out: `pullcall pair` at the grill shows a new one."


@dataclass
class Access:
    """``guarded``: phones have to be paired; otherwise everybody is this machine's own browser.

    A test in another thread may pair and invite at any moment: what is gone through is a copy.
    """

    guarded: bool = False
    pairings: dict[str, dict[str, Any]] = field(default_factory=dict)  # by cookie
    invitations: dict[str, dict[str, Any]] = field(default_factory=dict)  # by id
    tickets: dict[str, str] = field(default_factory=dict)  # ticket to cookie
    note: str | None = None
    code_lasts_s: float = 120.0
    overreached: list[str] = field(default_factory=list)  # requests made without the right

    def invite(self, role: str, **terms: Any) -> dict[str, Any]:
        id = secrets.token_hex(4)
        made = {
            "id": id,
            "role": role,
            "label": "",
            "delay_s": 0,
            "hides_targets": False,
            "lasts_s": 600.0,
            "secret": secrets.token_urlsafe(16),
            "code": f"{secrets.randbelow(10**8):08d}",
            **terms,
        }
        made["until"] = time.monotonic() + made["lasts_s"]
        self.invitations[id] = made
        return made

    def claim(self, body: dict[str, Any]) -> str | None:
        """The cookie of a new pairing, or None."""
        for kind in ("secret", "code"):
            for one in list(self.invitations.values()):
                if kind in body and one[kind] == body[kind]:
                    if one["role"] != "watcher":
                        del self.invitations[one["id"]]
                    return self.pair(one["role"], body["name"], one)
        return None

    def pair(self, role: str, name: str, invitation: dict[str, Any] | None = None) -> str:
        cookie = secrets.token_hex(8)
        terms = invitation or {"id": None, "delay_s": 0, "hides_targets": False}
        self.pairings[cookie] = {
            "id": secrets.token_hex(4),
            "name": name,
            "role": role,
            "paired": "2026-06-13T13:41:00Z",
            "invitation": terms["id"],
            "sight": {name: terms[name] for name in ("delay_s", "hides_targets")},
        }
        return cookie

    def visitor(self, cookie: str | None) -> dict[str, Any]:
        if not self.guarded:
            return {**OWNER, "note": self.note}
        paired = self.pairings.get(cookie or "")
        if paired is None:
            return NOBODY
        rights = ["read"] if self.note else RIGHTS[paired["role"]]
        return {**NOBODY, "role": paired["role"], "name": paired["name"], "rights": rights,
                "note": self.note, **paired["sight"]}  # fmt: skip

    def may(self, cookie: str | None, method: str, path: str) -> int:
        """0, or the status of a refusal."""
        noun, _, rest = path.removeprefix("/api/v1/").partition("/")
        if (method, noun) in OPEN or not path.startswith("/api/v1/"):
            return 0
        rights = self.visitor(cookie)["rights"]
        needed = "rule" if (method, noun) in RULED else NEEDED.get(noun, "act")
        if (noun, rest) == ("pairings", "me") or needed in rights:
            return 0 if rights else 401
        if rights:
            self.overreached.append(f"{method} {path}")
        return 403 if rights else 401

    def ticket(self, cookie: str | None) -> str:
        ticket = secrets.token_hex(8)
        self.tickets[ticket] = cookie or ""
        return ticket

    def redeem(self, protocols: list[str]) -> str | None:
        """The cookie that a ticket stands for, once; None without a good one."""
        offered = [name.removeprefix("ticket.") for name in protocols if name.startswith("ticket.")]
        return self.tickets.pop(offered[0], None) if len(offered) == 1 else None

    def listed(self, me: str | None, present: set[str]) -> list[dict[str, Any]]:
        return [
            {
                **{name: one[name] for name in ("id", "name", "role", "paired", "invitation")},
                "is_me": cookie == me,
                "is_here": cookie in present,
            }
            for cookie, one in list(self.pairings.items())
        ]

    def out(self, invitation: dict[str, Any]) -> dict[str, Any]:
        names = ("id", "role", "label", "delay_s", "hides_targets")
        used = [
            one for one in list(self.pairings.values()) if one["invitation"] == invitation["id"]
        ]
        uses_left = None if invitation["role"] == "watcher" else 1
        return {
            **{name: invitation[name] for name in names},
            "expires_in_s": invitation["until"] - time.monotonic(),
            "phones": len(used),
            "uses_left": uses_left,
        }

    def handed_over(self, invitation: dict[str, Any], base: str) -> dict[str, Any]:
        link = f"{base}#k={invitation['secret']}"
        rows = ["".join("01"[dark] for dark in row) for row in segno.make_qr(link).matrix]
        return {
            **self.out(invitation),
            "links": [link, f"https://pullcall.local:8317/#k={invitation['secret']}"],
            "code": invitation["code"],
            "code_expires_in_s": self.code_lasts_s,
            "qr": rows,
        }

    def revoke(self, id: str) -> set[str]:
        """End a pairing, or an invitation with all its phones; the cookies that end."""
        self.invitations.pop(id, None)
        ended = {
            k for k, one in list(self.pairings.items()) if id in (one["id"], one["invitation"])
        }
        for cookie in ended:
            del self.pairings[cookie]
        return ended


def stripped(message: dict[str, Any]) -> dict[str, Any] | None:
    """What a watcher without targets is sent of a message; None if nothing."""
    kind = message["type"]
    if kind == "snapshot":
        return {
            **{k: v for k, v in message.items() if k not in ("adapter", "fire", "plan")},
            "steaks": [_steak(one) for one in message["steaks"]],
            "cook": {k: message["cook"][k] for k in ("id", "started", "window", "window_t")},
            **{name: [] for name in ("calls", "schedule", "probes", "proposals", "readiness")},
        }
    if kind == "steak":
        return _steak(message)
    if kind == "forecast":
        return {k: v for k, v in message.items() if k not in _FORETOLD}
    return message if kind in ("tick", "reading", "mark", "spot", "undo") else None


_FORETOLD = ("pull_in_s", "peak_c", "why", "aim_c", "pull_c")
_AIMED = ("pull_c", "target_c", "pull_by", "shift_c", "look", "channel")


def _steak(steak: dict[str, Any]) -> dict[str, Any]:
    kept = {k: v for k, v in steak.items() if k not in _AIMED}
    forecast = kept.get("forecast")
    if forecast:
        kept["forecast"] = {k: v for k, v in forecast.items() if k not in _FORETOLD}
    return kept
