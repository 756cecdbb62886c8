"""What every section of the configuration is made of."""

from __future__ import annotations

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field, StringConstraints


class Section(BaseModel):
    """A table of ``pullcall.toml``: what it does not know is an error, so that slips are found."""

    model_config = ConfigDict(extra="forbid", frozen=True)


Port = Annotated[int, Field(ge=1, le=65535)]
HostName = Annotated[
    str, StringConstraints(pattern=r"^[A-Za-z0-9]([A-Za-z0-9.-]{0,61}[A-Za-z0-9])?$")
]
