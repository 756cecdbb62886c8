"""How far the log of a cook has come."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Stand:
    """The cook's header line, how many records with a time follow it (notes have none), and how
    many have come since a person last did anything (``since``): readings, faults, answers. Records
    are only ever added, so an equal header and count are equal records."""

    header: str
    count: int
    since: int = 0
