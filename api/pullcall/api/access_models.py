"""What requests about pairing carry and answers look like."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import BaseModel, Field, StrictBool, model_validator

from pullcall.access.role import Right, Role
from pullcall.api.models import Body, Name

#: Only these delays, so that a site never keeps more than a few late feeds.
Delay = Literal[0, 60, 120, 300, 600]
_WEEK_S = 7 * 86400.0


class PairingBody(Body):
    """A phone that wants to be paired: the secret of a link, or the digits of a code."""

    secret: Annotated[str, Field(min_length=1, max_length=64)] | None = None
    code: Annotated[str, Field(pattern=r"^\d{8}$")] | None = None
    name: Name = "Phone"

    @model_validator(mode="after")
    def _one_of_both(self) -> Self:
        if (self.secret is None) == (self.code is None):
            raise ValueError("send the secret of a link, or an 8-digit code")
        return self


class InvitationBody(Body):
    """An invitation to make. How late and without what is shown concerns watchers only."""

    role: Role
    label: Annotated[str, Field(max_length=40)] = ""
    lasts_s: Annotated[float, Field(gt=0, le=_WEEK_S, allow_inf_nan=False, strict=True)] | None = (
        None
    )
    delay_s: Delay = 0
    hides_targets: StrictBool = False

    @model_validator(mode="after")
    def _watchers_only(self) -> Self:
        if self.role is not Role.WATCHER and (self.delay_s or self.hides_targets):
            raise ValueError("only a watcher can be shown less: leave delay_s and hides_targets")
        return self


class VisitorAnswer(BaseModel):
    """Who asks. ``here``: this machine's own browser; ``note``: why fewer rights than the role."""

    role: Role | None
    name: str | None
    rights: list[Right]
    delay_s: float
    hides_targets: bool
    here: bool
    note: str | None


class PairingAnswer(BaseModel):
    """A paired phone; ``is_here``: it has a stream open."""

    id: str
    name: str
    role: Role
    paired: str
    is_me: bool
    is_here: bool
    invitation: str | None


class InvitationAnswer(BaseModel):
    """An invitation that is still good; ``phones`` is how many are paired by it."""

    id: str
    role: Role
    label: str
    expires_in_s: float
    phones: int
    delay_s: float
    hides_targets: bool
    uses_left: int | None


class InvitedAnswer(InvitationAnswer):
    """A new invitation, with its secret for the only time: links, their QR, and a code."""

    links: list[str]
    code: str
    code_expires_in_s: float
    qr: list[str]


class TicketAnswer(BaseModel):
    """Opens one stream, within thirty seconds."""

    ticket: str
