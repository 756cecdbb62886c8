"""The file that keeps, over a restart, which records the broker has."""

from __future__ import annotations

import logging
from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from pullcall.whole_file import replace_whole

_log = logging.getLogger(__name__)

_Number = Annotated[int, Field(ge=-1, lt=2**63)]  # as SQLite counts


class _Saved(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, strict=True)

    format: Literal["pullcall published records"] = "pullcall published records"
    version: Literal[1] = 1
    to: str
    cooks: dict[str, _Number]


class PositionFile:
    """``to`` names the broker and the site: what another broker has says nothing of this one."""

    def __init__(self, path: Path, to: str) -> None:
        self.path = path
        self._to = to
        self._failure = ""

    def load(self) -> dict[str, int]:
        """By the cook's id, the last record that the broker has. A file that is none that can be
        used is as good as none: records are published twice then, and can be told."""
        try:
            saved = _Saved.model_validate_json(self.path.read_bytes())
        except FileNotFoundError:
            return {}
        except (OSError, ValidationError) as exc:
            _log.warning("%s cannot be used: records are sent again (%s).", self.path, _kind(exc))
            return {}
        return saved.cooks if saved.to == self._to else {}

    def save(self, positions: Mapping[str, int]) -> bool:
        """Replace the file, whole or not at all; where that fails (False) it stays as it was.

        It is not forced to the disk: that would hold up the log, and all that is lost by a loss
        of power is that records are published twice.
        """
        saved = _Saved(to=self._to, cooks=dict(positions)).model_dump_json().encode()
        try:
            replace_whole(self.path, saved, outlasts_power=False)
        except OSError as exc:
            self._tell(_kind(exc))
            return False
        self._failure = ""
        return True

    def _tell(self, failure: str) -> None:
        """Once for each kind of failure, for it is tried again each second."""
        if failure != self._failure:
            self._failure = failure
            _log.warning("%s cannot be written (%s): check the disk.", self.path, failure)


def position_beside(log: Path) -> Path:
    """Where the positions of a cook log are kept: "cooks.mqtt.json" beside "cooks.db"."""
    return log.with_suffix(".mqtt.json")


def _kind(error: OSError | ValidationError) -> str:
    return error.strerror or str(error) if isinstance(error, OSError) else "it is not as it was"
