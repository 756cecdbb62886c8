"""Who is connected, by address: past a bound whoever takes most gives way."""

from __future__ import annotations

from collections.abc import Hashable
from typing import Generic, TypeVar

One = TypeVar("One", bound=Hashable)


class Callers(Generic[One]):
    """At most ``most_of_one`` connections of an address, ``most`` of all addresses together.

    This machine itself (127.0.0.1) is not counted.
    """

    def __init__(self, most: int, most_of_one: int) -> None:
        self.most = most
        self.most_of_one = most_of_one
        self._here: dict[str, dict[One, None]] = {}
        self._count = 0

    def __len__(self) -> int:
        return self._count

    def of(self, address: str) -> tuple[One, ...]:
        """The connections of an address, the one that was silent longest first."""
        return tuple(self._here.get(address, ()))

    def come(self, address: str, one: One) -> One | None:
        """Take a connection in; the one that has to go for it, or itself where its address has
        all its places taken."""
        if address == "127.0.0.1":
            return None
        if len(self._here.get(address, ())) >= self.most_of_one:
            return one
        gone = self._longest_silent_of_the_fullest() if self._count >= self.most else None
        self._here.setdefault(address, {})[one] = None
        self._count += 1
        return gone

    def hear(self, address: str, one: One) -> None:
        """A connection said something whole: all others were silent for longer."""
        own = self._here.get(address, {})
        if one in own:
            own[one] = own.pop(one)
            self._here[address] = self._here.pop(address)

    def leave(self, address: str, one: One) -> None:
        """Forget a connection, if it was taken in."""
        own = self._here.get(address, {})
        if one not in own:
            return
        del own[one]
        self._count -= 1
        if not own:
            del self._here[address]

    def _longest_silent_of_the_fullest(self) -> One:
        """Who has one connection and uses it does not give way to a crowd of such.

        Among equals the newcomer does not go either: a crowd of silent connections, one from each
        address, would keep everybody else out.
        """
        address = max(self._here, key=lambda each: len(self._here[each]))  # of equals the first
        silent = next(iter(self._here[address]))
        self.leave(address, silent)
        return silent
