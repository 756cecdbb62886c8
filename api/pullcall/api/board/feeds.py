"""What each visitor of a board sees: of the board itself, and of each site."""

from __future__ import annotations

import asyncio
from http import HTTPStatus

from fastapi import HTTPException
from starlette.requests import HTTPConnection

from pullcall.access.records import WHOLE
from pullcall.api.board.admission import BoardAdmission
from pullcall.api.board.board_feed import BoardFeed, WholeBoard
from pullcall.api.board.glance import Glance
from pullcall.api.board.shown_board import MirroredSite, ShownBoard
from pullcall.api.board.watched_board import WatchedBoard
from pullcall.api.sight.feed import Feed
from pullcall.api.sight.running import Running
from pullcall.api.sight.watched import WatchedFeed
from pullcall.api.sight.whole import WholeFeed
from pullcall.api.visitor import Visitor
from pullcall.errors import UnknownNameError

#: A feed goes on for so long after anybody looked: somebody who is shown a site late must not wait
#: again because their phone slept, seconds.
_IDLE_S = 600.0
NO_SITE = "This board knows no site of that name (any more): go back to the list of all."
_ONE_ONLY = "This phone's link shows one site only: go to /sites/{site}/, or ask for another link."


class SiteFeeds:
    """Feeds of the sites, by the ``site`` in the path that is asked for."""

    def __init__(self, board: ShownBoard, admission: BoardAdmission) -> None:
        self._board = board
        self._admission = admission
        self._watched: Running[WatchedFeed] = Running(
            admission.clock, board.edges, "feed of a site", _IDLE_S
        )

    def __len__(self) -> int:
        """How many have to run."""
        return len(self._watched)

    def site(self, visitor: Visitor, connection: HTTPConnection) -> MirroredSite:
        """The site that is asked for.

        Raises HTTPException (403) for one that this visitor may not see, UnknownNameError for one
        that is not there.
        """
        id = connection.path_params["site"]
        only = self._admission.only_site(visitor)
        if only not in (None, id):
            raise HTTPException(HTTPStatus.FORBIDDEN, _ONE_ONLY.format(site=only))
        site = self._board.site(id)
        if site is None:
            raise UnknownNameError(NO_SITE)
        return site

    def shown_to(self, visitor: Visitor, connection: HTTPConnection) -> Feed:
        """The site that is asked for, as this visitor may see it. Raises as :meth:`site`."""
        site, sight = self.site(visitor, connection), visitor.sight
        if sight == WHOLE:
            return WholeFeed(site)
        clock = self._admission.clock
        return self._watched.of((site, sight), lambda: WatchedFeed(site, sight, clock))

    async def run(self) -> None:
        """Keep those going that are looked at, until cancelled."""
        await self._watched.run()


class BoardFeeds:
    """Feeds of the board's own stream; those of its sites run with them."""

    def __init__(self, board: ShownBoard, admission: BoardAdmission) -> None:
        self.sites = SiteFeeds(board, admission)
        self._admission = admission
        self._glance = Glance(board, admission.clock)
        self._whole = WholeBoard(board, self._glance)
        self._own = WholeBoard(board.own, Glance(board.own, admission.clock))
        self._watched: Running[WatchedBoard] = Running(
            admission.clock, board.edges, "feed of the board", _IDLE_S
        )

    def shown_to(self, visitor: Visitor, connection: HTTPConnection) -> BoardFeed:
        """The board, as this visitor may see it."""
        if visitor.here:
            return self._own
        only, sight = self._admission.only_site(visitor), visitor.sight
        if only is None and sight == WHOLE:
            return self._whole
        clock = self._admission.clock
        return self._watched.of(
            (only, sight), lambda: WatchedBoard(self._glance, sight, only, clock)
        )

    async def run(self) -> None:
        """Keep those going that are looked at, until cancelled."""
        async with asyncio.TaskGroup() as tasks:
            tasks.create_task(self._watched.run(), name="feeds of the board")
            tasks.create_task(self.sites.run(), name="feeds of sites")
