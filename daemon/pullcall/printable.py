"""Text from elsewhere, for a terminal or a log: it may not act there, only be read."""

from __future__ import annotations

import codecs

#: Looked up now: sought in vain once, while the process is out of file handles, a codec counts as
#: unknown for ever.
_encoded = codecs.getencoder("unicode_escape")


def printable(text: str) -> str:
    r"""The text with what does not print written out, as in ``\x1b[2J``.

    Controls could move the cursor, forge a line or answer for the terminal; marks of direction and
    spaces that are none could make it read as something else.
    """
    return "".join(letter if letter.isprintable() else _written(letter) for letter in text)


def _written(letter: str) -> str:
    return _encoded(letter)[0].decode()
