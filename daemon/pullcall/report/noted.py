"""What people wrote about a cook, as it stands."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from pullcall.events import Note, NoteValue
from pullcall.logbook.notes import SCORE, standing


@dataclass(frozen=True, slots=True)
class Noted:
    """The notes that stand, by steak (None: of the cook) and name."""

    values: dict[tuple[str | None, str], NoteValue]

    def text(self, name: str, steak: str | None = None) -> str:
        """A note in words; empty where there is none."""
        return _words(self.values.get((steak, name)))

    def scores(self) -> tuple[tuple[str, str], ...]:
        """The judges' scores: category and score, in the order they were first written."""
        return tuple(
            (name.removeprefix(SCORE), _words(value))
            for (steak, name), value in self.values.items()
            if steak is None and name.startswith(SCORE)
        )


def noted(notes: Iterable[Note]) -> Noted:
    """The notes that stand, in the order they were first written."""
    return Noted({(note.steak, note.name): note.value for note in standing(notes)})


def _words(value: NoteValue) -> str:
    if value is None:
        return ""
    if isinstance(value, tuple):
        return ", ".join(value)
    return f"{value:g}" if isinstance(value, float | int) else value.strip()
