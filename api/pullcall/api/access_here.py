"""Who is let in, for routes that ask for it."""

from __future__ import annotations

from typing import Annotated

from fastapi import Depends
from fastapi.requests import HTTPConnection

from pullcall.access.access import Access
from pullcall.api.admission import Admission


async def _access(connection: HTTPConnection) -> Access:
    access: Access = connection.app.state.access
    return access


#: The site's pairings.
AccessHere = Annotated[Access, Depends(_access)]


async def _admission(connection: HTTPConnection) -> Admission:
    admission: Admission = connection.app.state.access
    return admission


#: Who is let in, here or on a board.
AdmissionHere = Annotated[Admission, Depends(_admission)]
