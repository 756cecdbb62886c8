"""The site's pairings, for routes that ask for them."""

from __future__ import annotations

from typing import Annotated

from fastapi import Depends
from fastapi.requests import HTTPConnection

from pullcall.access.access import Access


async def _access(connection: HTTPConnection) -> Access:
    access: Access = connection.app.state.access
    return access


#: The site's pairings.
AccessHere = Annotated[Access, Depends(_access)]
