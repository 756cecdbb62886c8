"""The rows of the board, as who asks may see them."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Depends, Response
from fastapi.requests import HTTPConnection

from pullcall.api.board.board_feed import BoardFeed
from pullcall.api.board.feeds import NO_SITE, BoardFeeds
from pullcall.api.guard.rights import VisitorHere
from pullcall.api.routes.stream import as_json
from pullcall.errors import UnknownNameError

router = APIRouter(tags=["sites"])


async def _feed(connection: HTTPConnection, visitor: VisitorHere) -> BoardFeed:
    feeds: BoardFeeds = connection.app.state.feeds
    return feeds.shown_to(visitor, connection)


BoardFeedHere = Annotated[BoardFeed, Depends(_feed)]


@router.get("/sites", response_model=dict[str, Any])
async def sites(feed: BoardFeedHere) -> Response:
    """Every row in order, and how the way to the broker is."""
    return as_json(feed.snapshot())


@router.get("/sites/{site}")
async def site(site: str, feed: BoardFeedHere) -> dict[str, Any]:
    """One row."""
    row = feed.row(site)
    if row is None:
        raise UnknownNameError(NO_SITE)
    return row
