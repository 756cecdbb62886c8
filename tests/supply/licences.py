"""The licences of the packages that Pullcall runs on, as an SPDX expression each."""

from __future__ import annotations

import re
from email.message import Message
from importlib.metadata import PackageNotFoundError, metadata
from typing import cast

from tests.supply.pinned import ROOT

PAGE = ROOT / "docs" / "reliability" / "supply-chain.md"
#: Those that a program under the MIT licence may bring along: permissive, or copyleft that ends
#: at the package's own files (MPL, EPL) or at the package (LGPL).
ACCEPTED = frozenset(
    [
        "0BSD",
        "Apache-2.0",
        "BSD-2-Clause",
        "BSD-3-Clause",
        "CC0-1.0",
        "EPL-2.0",
        "LGPL-2.1-or-later",
        "MIT",
        "MIT-0",
        "MPL-2.0",
        "PSF-2.0",
        "Zlib",
    ]
)
#: Where a package's own metadata say only "BSD": as its licence file reads.
_LOOSE = {"BSD License": "BSD-3-Clause", "MIT License": "MIT"}
_ROW = re.compile(r"^\| `([a-z0-9-]+)` \| ([^|]+) \|", re.MULTILINE)


def listed() -> dict[str, str]:
    """Package and licence as the page lists them."""
    return {name: licence.strip() for name, licence in _ROW.findall(PAGE.read_text("utf-8"))}


def told(package: str) -> str | None:
    """The licence that an installed package tells of itself; None where it is not installed."""
    try:
        found = cast("Message", metadata(package))
    except PackageNotFoundError:
        return None
    expression = found.get("License-Expression") or found.get("License") or ""
    if expression and len(expression) < 100:
        return str(expression)
    classes = [str(text) for text in found.get_all("Classifier") or []]
    loose = [text.split(" :: ")[-1] for text in classes if text.startswith("License :: ")]
    return " AND ".join(_LOOSE.get(text, text) for text in loose)


def parts(expression: str) -> frozenset[str]:
    """The licences that an expression is made of."""
    return frozenset(re.split(r" AND | OR ", expression.replace("(", "").replace(")", "")))
