"""An invitation on the terminal: its QR, its code, and what to do with them."""

from __future__ import annotations

import io
from typing import Any

import segno

_WHAT = {
    "cook": "a cook's phone (marks, settings, pairs others)",
    "hand": "a hand's phone (marks and answers)",
    "watcher": "watchers (they see, and touch nothing)",
}


def lines(invited: dict[str, Any]) -> list[str]:
    """An invitation as the API answers it, for people."""
    link = invited["links"][0]
    others = [other.split("#")[0] for other in invited["links"][1:]]
    return [
        f"For {_WHAT[invited['role']]}, good for {remaining(invited['expires_in_s'])}:",
        "",
        *qr(link),
        f"  Scan it, or open {link.split('#')[0]} and type {digits(invited['code'])}",
        f"  (the code is good for {remaining(invited['code_expires_in_s'])}).",
        *([f"  The page is also at {', '.join(others)}"] if others else []),
        *([f"  Link to share: {link}"] if invited["role"] == "watcher" else []),
    ]


def qr(link: str) -> list[str]:
    """A QR for a dark terminal, two rows of modules a line."""
    out = io.StringIO()
    segno.make_qr(link).terminal(out, compact=True)
    return out.getvalue().splitlines()


def digits(code: str) -> str:
    """Eight digits as they are read out: "1234 5678"."""
    return f"{code[:4]} {code[4:]}"


def remaining(seconds: float) -> str:
    """A length of time, roughly: "2 min", "12 h", "3 days"."""
    for size, unit in ((86400.0, "days"), (3600.0, "h"), (60.0, "min")):
        if seconds >= 1.5 * size or (size == 60.0 and seconds >= 60.0):
            return f"{round(seconds / size)} {unit}"
    return f"{round(seconds)} s"
