"""Text from elsewhere, for a terminal or a log: it may not act there, only be read."""

from __future__ import annotations


def printable(text: str) -> str:
    r"""The text with what does not print written out, as in ``\x1b[2J``.

    Controls could move the cursor, forge a line or answer for the terminal; marks of direction and
    spaces that are none could make it read as something else.
    """
    return "".join(letter if letter.isprintable() else _written(letter) for letter in text)


def _written(letter: str) -> str:
    return letter.encode("unicode_escape").decode()
