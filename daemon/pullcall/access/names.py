"""Names of phones: they are typed by strangers, and shown to the cook and in the log."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from itertools import count

from pullcall.access.terms import LONGEST_NAME

_UNNAMED = "Phone"


def clean(text: str) -> str:
    """One line that prints as it reads, at most 40 letters; may be empty."""
    spaced = "".join(" " if letter.isspace() else letter for letter in text)
    # What does not print would let a name look like another's, or run backward through the page.
    printable = "".join(letter for letter in spaced if letter.isprintable())
    return " ".join(printable.split())[:LONGEST_NAME].rstrip()


def unique_name(text: str, taken: Iterable[str]) -> str:
    """A clean name that reads like none of ``taken``: the second of them gets a 2."""
    name = clean(text) or _UNNAMED
    known = {_look(other) for other in taken}
    if _look(name) not in known:
        return name
    numbered = (_numbered(name, number) for number in count(2))
    return next(one for one in numbered if _look(one) not in known)


def _numbered(name: str, number: int) -> str:
    end = f" {number}"
    return name[: LONGEST_NAME - len(end)].rstrip() + end


def _look(name: str) -> str:
    """The same for names that look the same: wide letters, other case."""
    return unicodedata.normalize("NFKC", name).casefold()
