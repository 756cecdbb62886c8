"""What requests to a board carry and answers look like."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, Field

from pullcall.api.access_models import VisitorAnswer
from pullcall.api.board.passes import LONGEST
from pullcall.api.models import Body, Name


class PassBody(Body):
    """A phone that wants to look: the secret of a link. ``name`` is what a site would keep."""

    secret: Annotated[str, Field(min_length=1, max_length=LONGEST)]
    name: Name = "Phone"


class SiteName(BaseModel):
    """Which site a page is about."""

    id: str
    name: str


class BoardVisitorAnswer(VisitorAnswer):
    """Who asks. ``site``: the one that the address names, or the only one that the link shows."""

    board: Literal[True] = True
    site: SiteName | None
