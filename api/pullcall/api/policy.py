"""What browsers may load with the documents made after a cook: nothing but their own style."""

from __future__ import annotations

import base64
import hashlib
from functools import cache

from pullcall.report.style import STYLE

_NAME = "Content-Security-Policy"
_NOTHING = "default-src 'none'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
#: A drawing is shown as an image: what it holds runs nothing, and its marks carry their own style.
DRAWING_POLICY = {_NAME: f"{_NOTHING}; style-src 'unsafe-inline'"}


@cache
def report_policy() -> dict[str, str]:
    """Only the report's own style applies, whatever a note may hold."""
    digest = base64.b64encode(hashlib.sha256(STYLE.encode()).digest()).decode()
    return {_NAME: f"{_NOTHING}; style-src 'sha256-{digest}'"}
