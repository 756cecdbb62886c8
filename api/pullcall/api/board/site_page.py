"""The page of a site, as the site's own daemon serves it, below the board."""

from __future__ import annotations

from fastapi import FastAPI, HTTPException, Request, Response
from fastapi.responses import RedirectResponse
from starlette.concurrency import run_in_threadpool

from pullcall.api.board.feeds import SiteFeeds
from pullcall.api.pages import Pages
from pullcall.api.visitor import visitor_of
from pullcall.bus.options import SITE
from pullcall.errors import UnknownNameError

#: From a site's page to the board's.
_UP = "../../"


class SitePage:
    """Serves it with the board's own files, so that many sites are no more to keep than one."""

    def __init__(self, pages: Pages, feeds: SiteFeeds) -> None:
        self._pages = pages
        self._feeds = feeds

    def serve(self, board: FastAPI, site: FastAPI) -> None:
        """``site`` is mounted below ``board``, once for all sites."""
        site.add_api_route("/", self._page, include_in_schema=False)
        board.add_api_route("/sites/{site}", self._with_stroke, include_in_schema=False)

    async def _page(self, request: Request) -> Response:
        """Strangers get it whether or not there is such a site: it asks for a link."""
        visitor = visitor_of(request)
        try:
            if visitor.role is not None:
                self._feeds.site(visitor, request)
        except HTTPException as refusal:
            return await self._elsewhere(refusal.status_code)
        except UnknownNameError:
            return await self._elsewhere(404)
        return await run_in_threadpool(self._pages.document, "index.html", _UP)

    async def _elsewhere(self, status: int) -> Response:
        """A sentence, and the link back."""
        answer = await run_in_threadpool(self._pages.document, "board/nosite.html", _UP)
        answer.status_code = status
        return answer

    async def _with_stroke(self, site: str) -> Response:
        """The page's addresses are told from its own, which ends with a stroke.

        Only what can be a site's name is led on: "http:elsewhere" would be an address.
        """
        if SITE.fullmatch(site) is None:
            return await self._elsewhere(404)
        return RedirectResponse(f"{site}/", 307)
