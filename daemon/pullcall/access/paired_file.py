"""The file that keeps who is paired over a restart: digests only, for its owner's eyes only."""

from __future__ import annotations

import logging
import os
from dataclasses import fields
from datetime import UTC, datetime
from itertools import count
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import AwareDatetime, BaseModel, ConfigDict, Field, ValidationError

from pullcall.access.records import Invitation, Kept, Pairing, Sight
from pullcall.access.role import Role
from pullcall.clock import boot_id
from pullcall.errors import PairedFileError
from pullcall.whole_file import replace_whole

_log = logging.getLogger(__name__)

#: A wall clock before this was never set: boards without a battery for it start at 1970.
_CLOCKS_ARE_SET_SINCE = datetime(2025, 1, 1, tzinfo=UTC)
#: No pairing lasts longer, seconds; a file that says so was not written by this program.
_LONGEST_S = 31 * 86400.0

_Digest = Annotated[str, Field(pattern="^[0-9a-f]{64}$")]
_Id = Annotated[str, Field(min_length=1, max_length=40)]
_Name = Annotated[str, Field(max_length=40)]
_Left = Annotated[float, Field(gt=0, le=_LONGEST_S, allow_inf_nan=False)]


class _Row(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, strict=True)


class _InvitationRow(_Row):
    id: _Id
    role: Role
    label: _Name
    digest: _Digest
    left_s: _Left
    sight: Sight
    uses_left: Annotated[int, Field(ge=0)] | None


class _PairingRow(_Row):
    id: _Id
    name: _Name
    role: Role
    digest: _Digest
    left_s: _Left
    sight: Sight
    invitation: _Id | None
    paired: Annotated[str, Field(max_length=40)]


class _Saved(_Row):
    """The file. ``boot`` and ``monotonic`` say when it was saved where the wall clock cannot."""

    format: Literal["pullcall paired phones"] = "pullcall paired phones"
    version: Literal[1] = 1
    saved: AwareDatetime
    boot: str
    monotonic: Annotated[float, Field(allow_inf_nan=False)]
    invitations: tuple[_InvitationRow, ...]
    pairings: tuple[_PairingRow, ...]


class PairedFile:
    """Saves and loads what the register keeps. ``now`` is monotonic seconds, ``wall`` has a zone.

    Deadlines are kept as the seconds left. Loading takes off what passed since saving: by the
    monotonic clock within one boot of the machine, else by the wall clock. A wall clock that was
    not set, or goes back, tells nothing, and then no time has passed.
    """

    def __init__(self, path: Path, boot: str | None = None) -> None:
        self.path = path
        self._boot = boot_id() if boot is None else boot

    def load(self, now: float, wall: datetime) -> Kept:
        """What was saved; nothing if there is no such file, or none that makes sense.

        Such a file is set aside under a new name, and the log says so. Raises PairedFileError for
        one that cannot be read: it may be another time, so it stays.
        """
        try:
            saved = _Saved.model_validate_json(self.path.read_bytes())
        except FileNotFoundError:
            return Kept()
        except IsADirectoryError as error:
            self._set_aside(error.strerror or str(error))
            return Kept()
        except OSError as error:
            raise PairedFileError(
                f"Paired phones cannot be read from {self.path} ({error.strerror}): until they "
                "can, phones that were paired before stay out, and new ones are not kept."
            ) from error
        except ValidationError as error:
            self._set_aside(_first_finding(error))
            return Kept()
        return _kept(saved, self._elapsed_s(saved, now, wall), now)

    def save(self, kept: Kept, now: float, wall: datetime) -> None:
        """Replace the file, whole or not at all. Raises PairedFileError, saying what to do."""
        saved = _Saved(
            saved=wall,
            boot=self._boot,
            monotonic=now,
            invitations=tuple(_InvitationRow(**_row(one, now)) for one in kept.invitations),
            pairings=tuple(_PairingRow(**_row(one, now)) for one in kept.pairings),
        )
        try:
            self.path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
            replace_whole(self.path, saved.model_dump_json(indent=1).encode())
        except OSError as error:
            raise PairedFileError(
                f"Paired phones cannot be kept in {self.path} ({error.strerror}): until they can, "
                "a restart forgets the newest, and takes back phones that were revoked."
            ) from error

    def _elapsed_s(self, saved: _Saved, now: float, wall: datetime) -> float:
        if saved.boot == self._boot != "unknown" and now >= saved.monotonic:
            return now - saved.monotonic
        if saved.saved < _CLOCKS_ARE_SET_SINCE:
            return 0.0
        # A clock that was set then and is not now reads less, like one that goes back.
        return max(0.0, (wall - saved.saved).total_seconds())

    def _set_aside(self, reason: str) -> None:
        names = (self.path.with_name(f"{self.path.name}.broken-{n}") for n in count(1))
        aside = next(name for name in names if not os.path.lexists(name))
        try:
            self.path.rename(aside)
        except OSError as error:
            kept_as = f"it could not be set aside ({error.strerror})"
        else:
            kept_as = f"it is now {aside}"
        _log.warning(
            "%s is no file of paired phones that can be used (%s); %s. Pair the phones again.",
            self.path,
            reason,
            kept_as,
        )


def _first_finding(error: ValidationError) -> str:
    """What is wrong, without the content: that does not belong in a log."""
    finding = error.errors(include_input=False, include_url=False, include_context=False)[0]
    place = ".".join(str(part) for part in finding["loc"])
    return f"{place}: {finding['msg']}" if place else finding["msg"]


def _row(record: Invitation | Pairing, now: float) -> dict[str, Any]:
    """A record's fields as the file has them: the deadline as seconds left."""
    values = {field.name: getattr(record, field.name) for field in fields(record)}
    left_s = values.pop("expires") - now
    return values | {"left_s": left_s}


def _record(row: _InvitationRow | _PairingRow, zero: float) -> dict[str, Any]:
    """A row's fields as the record has them: the deadline on this process's clock."""
    values = dict(row)
    expires = zero + values.pop("left_s")
    return values | {"expires": expires}


def _kept(saved: _Saved, elapsed_s: float, now: float) -> Kept:
    """The records with their deadlines on this process's clock; what has expired stays out."""
    zero = now - elapsed_s
    invitations = (Invitation(**_record(row, zero)) for row in saved.invitations)
    pairings = (Pairing(**_record(row, zero)) for row in saved.pairings)
    return Kept(
        tuple(one for one in invitations if one.expires > now),
        tuple(one for one in pairings if one.expires > now),
    )
