"""The logbook's table as files: CSV, JSON Lines, Parquet, and the schema of the three."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable, Mapping
from datetime import datetime
from importlib import import_module
from types import MappingProxyType
from typing import Any

from pullcall.errors import PullcallError
from pullcall.logbook.columns import Column, Type, Value
from pullcall.logbook.table import Table

#: A spreadsheet takes a cell that begins so for a formula.
_FORMULA = ("=", "+", "-", "@", "\t", "\r")


class NoParquetError(PullcallError):
    """The library that writes Parquet is not installed."""


def csv_file(table: Table) -> bytes:
    """RFC 4180, UTF-8. A text that a spreadsheet would take for a formula gets an apostrophe."""
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow([_defused(column.name) for column in table.columns])
    writer.writerows([_cell(value) for value in line] for line in table.lines)
    return out.getvalue().encode()


def jsonl_file(table: Table) -> bytes:
    """An object for each line; null where there is no value."""
    names = [column.name for column in table.columns]
    lines = (dict(zip(names, line, strict=True)) for line in table.lines)
    return "".join(f"{json.dumps(line, ensure_ascii=False)}\n" for line in lines).encode()


def schema_file(table: Table) -> bytes:
    """The Table Schema as JSON."""
    return f"{json.dumps(table.schema(), ensure_ascii=False, indent=2)}\n".encode()


def parquet_file(table: Table) -> bytes:
    """Parquet, with unit and description of each column in its field's metadata.

    Raises NoParquetError where the extra is not installed.
    """
    try:
        arrow, parquet = import_module("pyarrow"), import_module("pyarrow.parquet")
    except ImportError as exc:
        raise NoParquetError(
            "Parquet needs a library that is not installed: pip install 'pullcall[parquet]'."
        ) from exc
    schema = arrow.schema([_field(arrow, column) for column in table.columns])
    columns = [
        [_typed(column, line[place]) for line in table.lines]
        for place, column in enumerate(table.columns)
    ]
    arrays = [arrow.array(c, f.type) for c, f in zip(columns, schema, strict=True)]
    out = io.BytesIO()
    parquet.write_table(arrow.Table.from_arrays(arrays, schema=schema), out)
    return out.getvalue()


#: By the name that the command line and the page give them.
WRITERS: Mapping[str, Callable[[Table], bytes]] = MappingProxyType(
    {"csv": csv_file, "jsonl": jsonl_file, "parquet": parquet_file, "schema": schema_file}
)


def _cell(value: Value) -> str:
    if isinstance(value, str):
        return _defused(value)
    return "" if value is None else json.dumps(value)


def _defused(text: str) -> str:
    return f"'{text}" if text.startswith(_FORMULA) else text


def _field(arrow: Any, column: Column) -> Any:
    types = {
        Type.STRING: arrow.string,
        Type.NUMBER: arrow.float64,
        Type.BOOLEAN: arrow.bool_,
        Type.DATETIME: lambda: arrow.timestamp("s", tz="UTC"),
    }
    metadata = {"description": column.description, "unit": column.unit}
    return arrow.field(column.name, types[column.type](), metadata=metadata)


def _typed(column: Column, value: Value) -> Any:
    is_moment = column.type is Type.DATETIME and isinstance(value, str)
    return datetime.fromisoformat(str(value)) if is_moment else value
