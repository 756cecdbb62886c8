"""The site's logbook and what it shows, for routes that ask for them."""

from __future__ import annotations

from typing import Annotated

from fastapi import Depends

from pullcall.api.cook_site import SiteHere
from pullcall.errors import UnknownNameError
from pullcall.site.archive import Archive
from pullcall.site.review import Review

_NO_LOGBOOK = "A replay of one cook has no logbook: start `pullcall serve`."


async def _archive(site: SiteHere) -> Archive:
    if site.archive is None:
        raise UnknownNameError(_NO_LOGBOOK)
    return site.archive


async def _review(site: SiteHere) -> Review:
    if site.review is None:
        raise UnknownNameError(_NO_LOGBOOK)
    return site.review


#: The site's logbook.
ArchiveHere = Annotated[Archive, Depends(_archive)]
#: What its cooks show together.
ReviewHere = Annotated[Review, Depends(_review)]
