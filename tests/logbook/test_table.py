"""The table read back from each kind of file is the table, every value of the schema's type."""

from __future__ import annotations

import csv
import io
import json
import re
import sys
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from pullcall.logbook.columns import COLUMNS
from pullcall.logbook.entry import row
from pullcall.logbook.table import Table, table_of
from pullcall.logbook.table_files import (
    WRITERS,
    NoParquetError,
    csv_file,
    jsonl_file,
    parquet_file,
    schema_file,
)
from tests.logbook.some import BARE, ENTRY, FACTS, NOTES

TABLE = table_of([(row(ENTRY, NOTES, FACTS), FACTS), (row(BARE, (), None), None)])
UNITS = {"mm": "_mm", "g": "_g", "Cel": "_c", "s": "_s"}
DOCS = (Path(__file__).parents[2] / "docs" / "after.md").read_text()


def _read_csv(data: bytes) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(data.decode(), newline="")))


#: How the Table Schema's types are written by default (specs of Frictionless Data, from memory).
_TYPED: dict[str, Callable[[str], Any]] = {
    "string": str,
    "number": float,
    "boolean": {"true": True, "false": False}.__getitem__,
    "datetime": lambda text: datetime.strptime(text, "%Y-%m-%dT%H:%M:%SZ").replace(tzinfo=UTC),
}


def _typed(cell: str, field: dict[str, Any], missing: list[str]) -> Any:
    return None if cell in missing else _TYPED[field["type"]](cell)


def test_a_csv_file_reads_back_with_every_value_of_its_type() -> None:
    schema = json.loads(schema_file(TABLE))
    lines = _read_csv(csv_file(TABLE))
    assert list(lines[0]) == [field["name"] for field in schema["fields"]]
    read = [
        {f["name"]: _typed(line[f["name"]], f, schema["missingValues"]) for f in schema["fields"]}
        for line in lines
    ]
    left, right, bare = read
    assert [(x["cook"], x["steak"]) for x in read] == [
        ("cook-1", "left"),
        ("cook-1", "right"),
        ("cook-2", "left"),
    ]
    assert left["started"] == datetime(2026, 6, 13, 13, 40, tzinfo=UTC)
    assert (left["pull_c"], left["carry_over_c"], left["on_grate_s"]) == (53.9, 2.9, 560.0)
    assert (left["forecast_error_40s_s"], left["band_held"]) == (2.5, True)
    assert left["forecast_error_20s_s"] == 3.0
    assert (left["handed_in"], right["handed_in"], bare["handed_in"]) == (True, False, None)
    assert (left["window_left_s"], left["in_window"]) == (500.0, True)
    assert (left["late_off_s"], left["reaction_s"], left["to_pull_s"]) == (5.0, 4.0, 555.0)
    assert (left["peak_error_c"], left["carry_over_told_c"]) == (-0.4, 2.5)
    assert (left["score_taste"], left["score_first bite"]) == (8.5, "very good")
    assert (bare["ended"], bare["score_taste"], bare["fire_c"]) == (None, None, None)
    for key in schema["primaryKey"]:
        assert all(x[key] for x in read)
    assert len({tuple(x[key] for key in schema["primaryKey"]) for x in read}) == len(read)


def test_no_text_of_a_csv_file_is_a_formula() -> None:
    first = _read_csv(csv_file(TABLE))[0]
    assert first["notes"] == "'=HYPERLINK(1)\nsecond line, with a comma"
    assert first["steak_notes"] == "'+1 salt"
    for sign in ("=1", "+1", "-1", "@a", "\ta", "\ra"):
        cook = replace(row(ENTRY, NOTES, FACTS), place=sign)
        assert _read_csv(csv_file(table_of([(cook, None)])))[0]["place"] == f"'{sign}"


def test_a_negative_number_stays_a_number() -> None:
    assert _read_csv(csv_file(TABLE))[0]["peak_error_c"] == "-0.4"


def test_lines_end_as_the_standard_says() -> None:
    assert csv_file(TABLE).startswith(b"cook,steak,started,")
    assert csv_file(TABLE).endswith(b"\r\n")


def test_json_lines_hold_the_texts_as_they_are() -> None:
    lines = [json.loads(line) for line in jsonl_file(TABLE).decode().split("\n") if line]
    assert lines[0]["notes"].startswith("=HYPERLINK(1)\n")
    assert [tuple(line.values()) for line in lines] == list(TABLE.lines)


def test_a_parquet_file_reads_back_with_types_and_units() -> None:
    pyarrow = pytest.importorskip("pyarrow.parquet", reason="pip install 'pullcall[parquet]'")
    read = pyarrow.read_table(io.BytesIO(parquet_file(TABLE)))
    assert read.column_names == [column.name for column in TABLE.columns]
    assert read.column("started").to_pylist()[0] == datetime(2026, 6, 13, 13, 40, tzinfo=UTC)
    for column, name in ((c, c.name) for c in TABLE.columns if c.type != "datetime"):
        place = TABLE.columns.index(column)
        assert read.column(name).to_pylist() == [line[place] for line in TABLE.lines]
    assert read.schema.field("thickness_mm").metadata[b"unit"] == b"mm"
    assert str(read.schema.field("band_held").type) == "bool"
    assert str(read.schema.field("score_taste").type) == "double"
    assert str(read.schema.field("score_first bite").type) == "string"


def test_without_its_library_parquet_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "pyarrow", None)
    with pytest.raises(NoParquetError, match=re.escape("pip install 'pullcall[parquet]'")):
        parquet_file(TABLE)


def test_a_category_with_one_score_in_words_is_a_column_of_words() -> None:
    other = replace(row(BARE, (), None), scores={"taste": "fair"})
    table = table_of([(row(ENTRY, NOTES, FACTS), FACTS), (other, None)])
    assert [line[-1] for line in table.lines] == ["8.5", "8.5", "fair"]
    assert table.schema()["fields"][-1]["type"] == "string"


@pytest.mark.parametrize("kind", sorted(WRITERS))
def test_an_empty_logbook_is_a_table_without_lines(kind: str) -> None:
    if kind == "parquet":
        pytest.importorskip("pyarrow", reason="pip install 'pullcall[parquet]'")
    table: Table = table_of([])
    assert table.lines == ()
    assert isinstance(WRITERS[kind](table), bytes)


def test_every_column_has_its_unit_in_its_name_and_stands_in_the_docs() -> None:
    for column in COLUMNS:
        assert column.name.endswith(UNITS.get(column.unit, "")), column.name
        assert column.unit or not re.search(r"_(mm|g|c|s)$", column.name), column.name
        assert f"| `{column.name}` | {column.type} | " in DOCS, column.name
