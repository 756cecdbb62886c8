"""A board's API and pages as one ASGI application: read-only, whoever asks."""

from __future__ import annotations

from dataclasses import replace
from importlib.metadata import version

from fastapi import APIRouter, Depends, FastAPI

from pullcall.access.role import Role
from pullcall.api import problem
from pullcall.api.board.admission import BoardAdmission
from pullcall.api.board.feeds import BoardFeeds
from pullcall.api.board.routes import refused, sites, visitor
from pullcall.api.board.shown_board import ShownBoard
from pullcall.api.board.site_page import SitePage
from pullcall.api.carried import carried
from pullcall.api.described import PROBLEMS
from pullcall.api.front import Front
from pullcall.api.guard.bodies import Bodies
from pullcall.api.guard.headers import SecurityHeaders
from pullcall.api.guard.hosts import Hosts
from pullcall.api.guard.origins import Origins
from pullcall.api.guard.rates import Rates
from pullcall.api.guard.rights import PREFIX, require_right
from pullcall.api.guard.unexpected import Unexpected
from pullcall.api.pages import Pages
from pullcall.api.routes import stream

_WAY_IN = (
    "This phone has no link to this board: ask whoever runs it for one (`pullcall board link` "
    "prints it)."
)


def create_board_app(board: ShownBoard, admission: BoardAdmission, front: Front) -> FastAPI:
    """The application. Its ``state.feeds`` have to run beside it.

    ``/`` is the board's page (board.html), ``/sites/NAME/`` a site's own page; the files of both
    are at ``/page/VERSION/``. Below each of the two is an API of the same shape: ``api/v1/`` with
    ``snapshot``, ``stream``, ``events``, ``visitor``, ``tickets`` and ``pairings``; the board's
    has ``sites`` besides. A snapshot of the board is its ``board`` message.
    """
    front = replace(front, owner=Role.WATCHER, way_in=_WAY_IN)
    feeds = BoardFeeds(board, admission)
    pages = Pages(carried())
    app = _application(board, admission, front)
    app.state.feeds = feeds
    app.include_router(_api(visitor.router, stream.router, sites.router))
    app.include_router(refused.router, prefix=PREFIX)
    app.add_api_route("/", lambda: pages.document("board.html"), include_in_schema=False)
    pages.serve_files(app)
    site = _application(board, admission, front)
    site.state.feeds = feeds.sites
    site.include_router(_api(visitor.router, stream.router))
    SitePage(pages, feeds.sites).serve(app, site)
    site.include_router(refused.router)
    app.mount("/sites/{site}", site)
    _guard(app, admission, front)
    return app


def _application(board: ShownBoard, admission: BoardAdmission, front: Front) -> FastAPI:
    app = FastAPI(title="Pullcall", version=version("pullcall"), docs_url=None, redoc_url=None)
    app.state.board, app.state.access, app.state.front = board, admission, front
    problem.install(app, require_right)
    return app


def _api(*nouns: APIRouter) -> APIRouter:
    api = APIRouter(prefix=PREFIX, responses=PROBLEMS, dependencies=[Depends(require_right)])
    for noun in nouns:
        api.include_router(noun)
    return api


def _guard(app: FastAPI, admission: BoardAdmission, front: Front) -> None:
    """What a request has to pass, the last one first."""
    app.add_middleware(Unexpected)
    app.add_middleware(Bodies)
    app.add_middleware(Rates, access=admission)
    app.add_middleware(Origins)
    app.add_middleware(Hosts, names=front.names, what="board")
    app.add_middleware(SecurityHeaders)
