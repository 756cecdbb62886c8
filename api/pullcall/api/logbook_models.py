"""What requests about cooks that are over carry and answers look like."""

from __future__ import annotations

from typing import Annotated, Any, Literal, Self

from pydantic import BaseModel, Field, StringConstraints, model_validator

from pullcall.api.models import _FINITE, Body, Name
from pullcall.events import NoteValue
from pullcall.learning.choice import Mode

Unit = Literal["F", "C"]
#: Longer than any note is meant to be; the logbook says what each may hold.
_Words = Annotated[str, StringConstraints(max_length=4000)]
_Figure = Annotated[float, Field(**_FINITE)]


class NoteBody(Body):
    """One thing to write down; null takes it out."""

    steak: Name | None = None
    name: Annotated[str, StringConstraints(min_length=1, max_length=60)]
    value: _Figure | _Words | list[_Words] | None

    def note_value(self) -> NoteValue:
        """The value as the log keeps it."""
        return tuple(self.value) if isinstance(self.value, list) else self.value


class NotesBody(Body):
    """Things to write down about one cook."""

    notes: Annotated[list[NoteBody], Field(min_length=1, max_length=60)]


class ChoiceBody(Body):
    """Which figure of a lesson is in force; a value of one's own goes with ``own`` only."""

    mode: Mode
    value: _Figure | None = None

    @model_validator(mode="after")
    def _own_has_a_value(self) -> Self:
        if (self.value is not None) != (self.mode is Mode.OWN):
            raise ValueError("send a value with the mode own, and with no other")
        return self


class CookAnswer(BaseModel):
    """One cook of the logbook. ``facts`` are those of docs/after.md, once they are worked out."""

    row: dict[str, Any]
    notes: list[dict[str, Any]]
    facts: dict[str, Any] | None
    working: bool
    trouble: str | None


class ComparedAnswer(BaseModel):
    """Cooks side by side: a row for each figure, a value for each cook."""

    cooks: list[str]
    rows: list[dict[str, Any]]
    words: list[str]


class LearnedAnswer(BaseModel):
    """What the cooks taught, and how good the forecast was; ``cooks`` are those worked out,
    ``working`` wait to be."""

    lessons: list[dict[str, Any]]
    hindsight: list[dict[str, Any]]
    cooks: int
    working: int


class RestoredAnswer(BaseModel):
    """What a backup brought: cooks that were new, and those that were here already."""

    cooks: int
    known: int
    words: str


class ImportedAnswer(BaseModel):
    """What a file brought; ``broken`` names the lines left out, the first 200."""

    cook: str
    records: int
    broken: list[str]
