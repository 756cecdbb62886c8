"""Names of phones: they are typed by strangers, and shown to the cook and in the log."""

from __future__ import annotations

import unicodedata
from collections import Counter
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


class TakenNames:
    """The names of all phones, by how they look, so that none is given twice.

    A crowd whose phones all call themselves the same is numbered in one go.
    """

    def __init__(self, names: Iterable[str] = ()) -> None:
        self._looks = Counter(map(_look, names))
        # All numbers of a name below this are taken, as long as nobody leaves.
        self._next: dict[str, int] = {}

    def take(self, text: str) -> str:
        """A clean name that reads like none that is taken: the second of them gets a 2."""
        name = clean(text) or _UNNAMED
        if _look(name) in self._looks:
            name = self._numbered(name)
        self._looks[_look(name)] += 1
        return name

    def leave(self, name: str) -> None:
        """Whoever had this name is gone."""
        look = _look(name)
        self._looks[look] -= 1
        if self._looks[look] <= 0:
            del self._looks[look]
        self._next.clear()

    def _numbered(self, name: str) -> str:
        numbers = count(self._next.get(name, 2))
        free = next(n for n in numbers if _look(_numbered(name, n)) not in self._looks)
        self._next[name] = free + 1
        return _numbered(name, free)


def _numbered(name: str, number: int) -> str:
    end = f" {number}"
    return name[: LONGEST_NAME - len(end)].rstrip() + end


def _look(name: str) -> str:
    """The same for names that look the same: wide letters, other case."""
    return unicodedata.normalize("NFKC", name).casefold()
