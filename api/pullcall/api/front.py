"""How the page is reached: what the API has to know of the addresses it is served on."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from pullcall.access.role import Role

_PAIR = (
    "This phone is not paired: scan the QR that `pullcall pair` shows, or type its 8-digit code."
)


def no_links() -> tuple[str, ...]:
    """Of a page that no phone can reach."""
    return ()


@dataclass(frozen=True, slots=True)
class Front:
    """``names`` this machine answers to besides its addresses.

    ``links()`` gives the page's addresses, the likeliest for a phone first ("https://…:8317/").
    ``plain_control``: phones may act over plain http too. ``owner`` is what this machine's own
    browser is; ``way_in`` tells everybody else how to be let in.
    """

    names: frozenset[str] = frozenset()
    links: Callable[[], tuple[str, ...]] = no_links
    plain_control: bool = False
    owner: Role = Role.COOK
    way_in: str = _PAIR
