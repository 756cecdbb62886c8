"""The whole logbook as one flat table, a line for each steak."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from pullcall.hindsight.facts import CookFacts
from pullcall.logbook.columns import COLUMNS, Column, Line, Type, Value, score_column
from pullcall.logbook.entry import Row

#: What is known of a cook, and what was worked out of it so far.
Known = tuple[Row, CookFacts | None]


@dataclass(frozen=True, slots=True)
class Table:
    """Columns, and lines with as many values."""

    columns: tuple[Column, ...]
    lines: tuple[tuple[Value, ...], ...]

    def schema(self) -> dict[str, Any]:
        """The table's description as a Frictionless Table Schema; units as UCUM writes them."""
        return {
            "fields": [_field(column) for column in self.columns],
            "missingValues": [""],
            "primaryKey": ["cook", "steak"],
        }


def table_of(cooks: Sequence[Known]) -> Table:
    """The table of these cooks, with a column for each category that any of them has scores of."""
    columns = (*COLUMNS, *_score_columns(row for row, _ in cooks))
    return Table(
        columns,
        tuple(
            tuple(_rounded(column.of(line)) for column in columns)
            for row, facts in cooks
            for line in _lines(row, facts)
        ),
    )


def _rounded(value: Value) -> Value:
    return round(value, 3) if isinstance(value, float) else value


def _lines(row: Row, facts: CookFacts | None) -> list[Line]:
    return [
        Line(row, steak, facts, facts.steak(steak.steak) if facts else None) for steak in row.steaks
    ]


def _score_columns(rows: Iterable[Row]) -> list[Column]:
    """By category; numbers only where every score of it is one."""
    types: dict[str, Type] = {}
    for row in rows:
        for category, score in row.scores.items():
            is_number = types.get(category, Type.NUMBER) is Type.NUMBER and isinstance(score, float)
            types[category] = Type.NUMBER if is_number else Type.STRING
    return [score_column(category, types[category]) for category in sorted(types)]


def _field(column: Column) -> dict[str, Any]:
    field: dict[str, Any] = {
        "name": column.name,
        "type": str(column.type),
        "description": column.description,
    }
    if column.unit:
        field["unit"] = column.unit
    if column.name in ("cook", "steak"):
        field["constraints"] = {"required": True}
    return field
