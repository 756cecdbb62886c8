"""The API and the page as one ASGI application around a site."""

from __future__ import annotations

from importlib.metadata import version

from fastapi import APIRouter, Depends, FastAPI

from pullcall.access.access import Access
from pullcall.api import problem
from pullcall.api.carried import carried
from pullcall.api.cook_site import CookSite
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
from pullcall.api.routes import (
    calls,
    clips,
    comparison,
    cooks,
    invitations,
    learned,
    logbook,
    marks,
    moving,
    pairings,
    phones,
    probes,
    proposals,
    stream,
    visitor,
)
from pullcall.api.sight.feeds import Feeds

#: Served on this machine only.
FRONT = Front()


def create_app(site: CookSite, access: Access, front: Front = FRONT) -> FastAPI:
    """The application; it holds no state of its own but the late feeds of watchers."""
    app = FastAPI(title="Pullcall", version=version("pullcall"), docs_url=None, redoc_url=None)
    app.state.site, app.state.access, app.state.front = site, access, front
    invited = {invitation.sight for invitation in access.invitations()}
    paired = {pairing.sight for pairing in access.pairings()}
    app.state.feeds = Feeds(site, access.clock, site.edges, invited | paired)
    problem.install(app, require_right)
    api = APIRouter(prefix=PREFIX, responses=PROBLEMS, dependencies=[Depends(require_right)])
    for noun in (visitor, pairings, invitations, cooks, marks, calls, clips, proposals):
        api.include_router(noun.router)
    for noun in (phones, probes, stream, logbook, comparison, learned, moving):
        api.include_router(noun.router)
    app.include_router(api)
    Pages(carried()).serve(app)
    _guard(app, access, front)
    return app


def _guard(app: FastAPI, access: Access, front: Front) -> None:
    """What a request has to pass, the last one first."""
    app.add_middleware(Unexpected)
    app.add_middleware(Bodies)
    app.add_middleware(Rates, access=access)
    app.add_middleware(Origins)
    app.add_middleware(Hosts, names=front.names)
    app.add_middleware(SecurityHeaders)
