"""The codes that may be typed just now. A wrong guess closes codes, and nothing else."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass

from pullcall.access.keys import digest, is_same
from pullcall.access.terms import CODE_LASTS_S, CODE_TRIES

_SEPARATORS = re.compile(r"[\s-]")
_EIGHT_DIGITS = re.compile(r"[0-9]{8}")


@dataclass(slots=True)
class _Code:
    digest: str
    until: float
    tries: int = CODE_TRIES


class OpenCodes:
    """At most ``most`` codes, one for each invitation, by the invitation's id."""

    def __init__(self, new_code: Callable[[], str], most: int) -> None:
        self._new_code = new_code
        self._most = most
        self._open: dict[str, _Code] = {}

    def open(self, invitation: str, until: float, now: float) -> tuple[str, float]:
        """A new code and its life in seconds; it replaces this invitation's, or the oldest."""
        self.drop_expired(now)
        self.close(invitation)
        while len(self._open) >= self._most:
            del self._open[next(iter(self._open))]
        code, lasts_s = self._new_code(), min(CODE_LASTS_S, until - now)
        self._open[invitation] = _Code(digest(code), now + lasts_s)
        return code, lasts_s

    def guess(self, typed: str, now: float) -> str | None:
        """The invitation whose code was typed.

        A guess is not addressed, so a wrong one counts against every open code. What is not
        eight digits is a slip that could never be right, and counts against none.
        """
        self.drop_expired(now)
        code = _SEPARATORS.sub("", typed)
        if not _EIGHT_DIGITS.fullmatch(code):
            return None
        guessed = digest(code)
        found = [id for id, one in self._open.items() if is_same(one.digest, guessed)]
        if not found:
            self._count_miss()
        return found[-1] if found else None

    def close(self, invitation: str) -> None:
        """Close an invitation's code, if it has one."""
        self._open.pop(invitation, None)

    def drop_expired(self, now: float) -> None:
        """Forget the codes whose time is over."""
        self._open = {id: code for id, code in self._open.items() if code.until > now}

    def _count_miss(self) -> None:
        for code in self._open.values():
            code.tries -= 1
        self._open = {id: code for id, code in self._open.items() if code.tries > 0}
