"""Elements of HTML and SVG as text; whatever is not markup already is escaped."""

from __future__ import annotations

import re
from collections.abc import Iterable
from html import escape as _escape

#: What XML 1.0 does not allow in a document, not even escaped.
_FORBIDDEN = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


class Markup(str):
    """Text that is markup; any other text is words, and is escaped where it is put into markup."""

    __slots__ = ()


def words(text: str) -> Markup:
    """Words that somebody wrote, escaped; characters no document may hold become U+FFFD."""
    if isinstance(text, Markup):
        return text
    return Markup(_escape(_FORBIDDEN.sub("\ufffd", text), quote=True))


def element(name: str, *children: str, **attributes: str | float | None) -> Markup:
    """One element. Attributes: ``class_`` is class, ``_`` is a hyphen; None leaves one out."""
    told = "".join(
        f' {key.rstrip("_").replace("_", "-")}="{_value(value)}"'
        for key, value in attributes.items()
        if value is not None
    )
    return Markup(f"<{name}{told}>{joined(children)}</{name}>")


def joined(parts: Iterable[str]) -> Markup:
    """Parts one after another, words among them escaped."""
    return Markup("".join(words(part) for part in parts))


def number(value: float) -> str:
    """A coordinate, to a tenth."""
    return f"{value:.1f}".removesuffix(".0")


def _value(value: str | float) -> str:
    return words(value) if isinstance(value, str) else number(value)
