"""The rows of the board, as who asks may see them."""

from __future__ import annotations

import json
from typing import Any

from fastapi import APIRouter, Response

from pullcall.api.board.feeds import NO_SITE
from pullcall.api.routes.stream import FeedHere, as_json
from pullcall.errors import UnknownNameError

router = APIRouter(tags=["sites"])


@router.get("/sites", response_model=dict[str, Any])
async def sites(feed: FeedHere) -> Response:
    """Every row in order, and how the way to the broker is."""
    return as_json(feed.snapshot())


@router.get("/sites/{site}")
async def site(site: str, feed: FeedHere) -> dict[str, Any]:
    """One row."""
    for row in json.loads(feed.snapshot())["rows"]:
        if row["site"] == site:
            found: dict[str, Any] = row
            return found
    raise UnknownNameError(NO_SITE)
