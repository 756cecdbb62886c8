"""What the API needs of a cook place, live or replayed."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import TYPE_CHECKING, Annotated, Any, Protocol

from fastapi import Depends
from fastapi.requests import HTTPConnection

from pullcall.events import Input, SteakSettings, Window
from pullcall.site.hub import Hub
from pullcall.supervision import Edges

if TYPE_CHECKING:  # a board, which has none of these, starts without them
    from pullcall.core.cook import Cook
    from pullcall.site.archive import Archive
    from pullcall.site.review import Review


class CookSite(Protocol):
    """A place where one cook runs."""

    hub: Hub

    @property
    def edges(self) -> Edges:
        """What goes on around the cook, each part kept alone."""

    @property
    def cook(self) -> Cook:
        """The running cook."""

    def now(self) -> float:
        """Seconds since the cook's zero."""

    async def take(self, make: Callable[[float], Input]) -> Input:
        """Log and apply an input made from its cook time. Raises RefusedError."""

    async def set_clock(self, wall: datetime) -> None:
        """The cook says what time it is. Raises RefusedError."""

    def window(self, text: str) -> Window:
        """The next turn-in window of that name. Raises RefusedError."""

    def phone_seen(self, phone: str, armed: bool) -> None:
        """A phone is here."""

    def receipt(self, phone: str, call: str) -> None:
        """A phone sounded a call."""

    async def clip(self, id: str) -> bytes:
        """The words of a call as a WAV file. Raises UnknownNameError."""

    async def begin(self, steaks: tuple[SteakSettings, ...] | None) -> str:
        """End the running cook and begin another. Raises RefusedError."""

    def snapshot(self) -> dict[str, Any]:
        """Everything a page needs to start from."""

    def probes(self) -> dict[str, Any]:
        """Every probe heard, and the adapter."""

    async def recording(self, id: str) -> bytes:
        """A cook that is over as the file that a page replays, gzip. Raises UnknownNameError."""

    @property
    def archive(self) -> Archive | None:
        """The logbook; None where one recorded cook is all there is."""

    @property
    def review(self) -> Review | None:
        """What the cooks of the logbook show together; None as above."""


async def _site(connection: HTTPConnection) -> CookSite:
    site: CookSite = connection.app.state.site
    return site


#: The site, for routes that ask for it.
SiteHere = Annotated[CookSite, Depends(_site)]
