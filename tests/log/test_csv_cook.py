"""Tables of temperatures become cooks; what cannot be read is named, never guessed."""

from __future__ import annotations

import json
import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from pullcall.errors import LogFormatError
from pullcall.events import Call, CallKind, Mark, Reading
from pullcall.log.cook_file import CookFile, cook_lines, parse_cook_lines
from pullcall.log.csv_cook import MOST_ROWS, decode_csv, read_csv
from pullcall.log.csv_told import told_of
from pullcall.log.replay import replay

ZONE = timezone(timedelta(hours=2))
WHEN = datetime(2026, 6, 13, 15, 40, tzinfo=ZONE)
TOLD = told_of("time=Time,left=Probe1,right=Probe2", "F", {})
COMMA = """\
Time,Probe1,Probe2,Note
0,41.0,42.8,begin
1.5,50,,
3,59,60.8,"salt, pepper"
"""


def _read(text: str, **more: object) -> CookFile:
    told = more.pop("told", TOLD)
    assert not more
    return read_csv(text, told, name="My Probes.csv", when=WHEN, zone=ZONE)  # type: ignore[arg-type]


def _of(cook: CookFile, steak: str | None) -> list[tuple[float, float]]:
    readings = [e for e in cook.inputs if isinstance(e, Reading) and e.steak == steak]
    return [(e.t, e.celsius) for e in readings]


def test_a_table_becomes_a_cook_in_celsius_and_gaps_are_left_out() -> None:
    cook = _read(COMMA)
    assert _of(cook, "left") == [(0.0, 5.0), (1.5, 10.0), (3.0, 15.0)]
    assert _of(cook, "right") == [(0.0, 6.0), (3.0, 16.0)]
    assert cook.broken == ()
    assert cook.header.names() == ("left", "right")
    assert cook.header.started == "2026-06-13T15:40:00+02:00"
    assert [s.start_c for s in cook.header.steaks] == [5.0, 6.0]


def test_what_is_read_is_a_cook_file_like_any_other() -> None:
    cook = _read(COMMA)
    back = parse_cook_lines(cook_lines(cook.header, cook.inputs))
    assert (back.header, back.inputs, back.records) == (cook.header, cook.inputs, cook.records)


@pytest.mark.parametrize(
    "text",
    [
        COMMA.replace(".0", ".00"),
        "\ufeff" + COMMA,
        COMMA.replace("\n", "\r\n"),
        COMMA.replace("\n", "\r"),
        COMMA.replace('"salt, pepper"', "salt").replace(",", "\t"),
        COMMA.replace('"salt, pepper"', "salt").replace(",", ";").replace(".", ","),
        COMMA.replace("Time,", " Time ,").replace("Probe1", '"Probe1"'),
        "My recorder\n\nfirmware,3\n" + COMMA,
        COMMA.replace("1.5", "0:01.5").replace("\n3,", "\n0:00:03,").replace("\n0,", "\n0:00,"),
    ],
)
def test_the_same_table_written_another_way_is_the_same_cook(text: str) -> None:
    assert _read(text).inputs == _read(COMMA).inputs


def test_dates_make_the_start_and_the_id() -> None:
    rows = "Time,Probe1,Probe2\n2026-06-13 14:03:05.5,41,\n2026-06-13 14:03:07,42,\n"
    cook = _read(rows)
    assert [t for t, _ in _of(cook, "left")] == [0.0, 1.5]
    assert cook.header.started == "2026-06-13T14:03:05.500+02:00"
    assert cook.header.cook == "my-probes-20260613-120305"
    elsewhere = _read(rows.replace(":05.5,", ":05.5Z,").replace(":07,", ":07+00:00,"))
    assert elsewhere.header.cook == "my-probes-20260613-140305"
    assert datetime.fromisoformat(elsewhere.header.started).utcoffset() == UTC.utcoffset(None)


@pytest.fixture
def alpine_time(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """The machine's zone has summer time, written out so that no list of zones is needed."""
    monkeypatch.setenv("TZ", "CET-1CEST,M3.5.0,M10.5.0/3")
    time.tzset()
    yield
    monkeypatch.undo()
    time.tzset()


@pytest.mark.parametrize(("day", "offset"), [("2026-06-13", "+02:00"), ("2026-01-13", "+01:00")])
def test_a_date_without_a_zone_has_the_offset_of_that_date(
    alpine_time: None, day: str, offset: str
) -> None:
    november = datetime(2026, 11, 2, 9, 0, tzinfo=timezone(timedelta(hours=1)))
    rows = f"Time,Probe1,Probe2\n{day} 14:03:05,41,\n{day} 14:03:07,42,\n"
    cook = read_csv(rows, TOLD, name="x.csv", when=november)
    assert cook.header.started == f"{day}T14:03:05{offset}"


def test_a_table_goes_on_past_midnight() -> None:
    told = told_of("time=Time,left=Probe1", "F", {"on": ["left=23:59:59"], "off": ["left=0:00:04"]})
    cook = _read("Time,Probe1\n23:59:58,41\n23:59:59,50\n0:00:00,59\n00:00:05,68\n", told=told)
    assert _of(cook, "left") == [(0.0, 5.0), (1.0, 10.0), (2.0, 15.0), (7.0, 20.0)]
    assert [e.t for e in cook.inputs if isinstance(e, Mark)] == [1.0, 6.0]
    assert cook.broken == ()


def test_only_a_time_of_day_goes_past_midnight() -> None:
    for rows in ("50000,50\n0,41\n", "13:00:00,50\n1:00:00,41\n", "900:00,50\n0:00,41\n"):
        cook = _read("Time,Probe1\n" + rows, told=told_of("time=Time,left=Probe1", "F", {}))
        assert [c for _, c in _of(cook, "left")] == [5.0, 10.0], "sorted as ever"


def test_tables_without_dates_have_ids_of_their_own() -> None:
    assert _read(COMMA).header.cook == _read(COMMA).header.cook
    assert _read(COMMA).header.cook != _read(COMMA.replace("41", "40")).header.cook
    assert _read(COMMA).header.cook.startswith("my-probes-")


def test_rows_out_of_order_are_sorted() -> None:
    cook = _read("Time,Probe1,Probe2\n3,59,\n1,41,\n2,50,\n")
    assert _of(cook, "left") == [(0.0, 5.0), (1.0, 10.0), (2.0, 15.0)]


def test_rows_that_cannot_be_read_are_named_and_left_out() -> None:
    cook = _read(
        "Time,Probe1,Probe2\n"
        "0,41,41\n"
        "soon,41,41\n"
        "2,warm,41\n"
        "\n"
        "3\n"
        "2026-06-13 14:03:05,41,41\n"
        "5,9999,41\n"
        "6,nan,41\n"
        "900000,41,41\n"
        "8,41,41\n"
    )
    assert [line.number for line in cook.broken] == [3, 4, 6, 7, 8, 9, 10]
    assert "'soon' is no time" in str(cook.broken[0])
    assert "'warm' is no number" in str(cook.broken[1])
    assert "too short" in str(cook.broken[2])
    assert "another kind" in str(cook.broken[3])
    assert "out of range" in str(cook.broken[4])
    assert [t for t, _ in _of(cook, "left")] == [0.0, 8.0]


def test_marks_are_in_the_tables_own_time_and_the_grate_is_the_fire() -> None:
    told = told_of(
        "time:Time,left:Probe1,grate:Pit",
        "C",
        {"on": ["left:1:40"], "off": ["left:1:50"]},
        ["left:28.5"],
        sign=":",
    )
    rows = "".join(f"{t},{t - 85},{280 + t}\n" for t in range(90, 130))
    cook = _read("Time,Probe1,Pit\n" + rows, told=told)
    marks = [(e.t, str(e.mark)) for e in cook.inputs if isinstance(e, Mark)]
    assert marks == [(10.0, "on"), (20.0, "off")]
    (steak,) = cook.header.steaks
    assert (steak.thickness_mm, steak.start_c) == (28.5, 15.0)
    grate = [e for e in cook.inputs if isinstance(e, Reading) and e.steak is None]
    assert {e.channel for e in grate} == {cook.header.fire.channel}
    assert len(grate) == 40


def test_an_imported_table_replays_to_its_pull() -> None:
    told = told_of("time=Time,left=Probe1", "F", {"on": ["left=0:05"]})
    rows = "".join(f"{t},{41 + 0.3 * t:.1f}\n" for t in range(0, 320, 2))
    cook = _read("Time,Probe1\n" + rows, told=told)
    called = [e for e in replay(cook) if isinstance(e, Call) and e.call is CallKind.PULL_NOW]
    assert called
    crosses_t = (53.9 * 1.8 + 32.0 - 41.0) / 0.3
    assert abs(called[0].t - crosses_t) < 6.0


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "needs each of the columns 'Time', 'Probe1', 'Probe2'"),
        ("Time;Probe1\n0;41\n", "its first line reads 'Time', 'Probe1'"),
        ("Time,Probe1,Probe1,Probe2\n0,1,1,1\n", "once"),
        ("Time,Probe1,Probe2\n", "no row that can be read"),
        ("Time,Probe1,Probe2\nsoon,1,1\n", "line 2: 'soon' is no time"),
    ],
)
def test_a_table_without_a_cook_says_what_is_missing(text: str, says: str) -> None:
    with pytest.raises(LogFormatError, match=says):
        _read(text)


def test_a_table_that_is_too_long_says_so() -> None:
    with pytest.raises(LogFormatError, match="more than 200000 rows"):
        _read("Time,Probe1,Probe2\n" + "x\n" * (MOST_ROWS + 1))


@pytest.mark.parametrize(
    ("columns", "unit", "marks", "thickness", "says"),
    [
        ("time=T,left=A", None, {}, [], "never guessed"),
        ("time=T,left=A", "K", {}, [], "F or C"),
        ("left=A", "F", {}, [], "column of the time"),
        ("time=T", "F", {}, [], "one or two steaks"),
        ("time=T,a=A,b=B,c=C", "F", {}, [], "one or two steaks"),
        ("time=T,left=A,right=A", "F", {}, [], "twice"),
        ("time", "F", {}, [], "NAME=VALUE"),
        ("time=T,left=A", "F", {"on": ["right=0:40"]}, [], "it is left"),
        ("time=T,left=A", "F", {"on": ["0:40"]}, [], "NAME=VALUE"),
        ("time=T,left=A", "F", {}, ["left=thick"], "between 5 and 120 mm"),
    ],
)
def test_what_is_said_of_a_table_is_checked(
    columns: str, unit: str, marks: dict[str, list[str]], thickness: list[str], says: str
) -> None:
    with pytest.raises(LogFormatError, match=says):
        told_of(columns, unit, marks, thickness)


@pytest.mark.parametrize(
    ("marks", "says"),
    [
        ({"on": ["left=early"]}, "write its time as the table does"),
        ({"on": ["left=2026-06-13 14:00"]}, "write its time as the table does"),
        ({"on": ["left=0:40"], "off": ["left=0:20"]}, "off before on"),
    ],
)
def test_a_mark_that_cannot_be_placed_says_so(marks: dict[str, list[str]], says: str) -> None:
    with pytest.raises(LogFormatError, match=says):
        _read("Time,P\n0,41\n90,42\n", told=told_of("time=Time,left=P", "F", marks))


@pytest.mark.parametrize("code", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_a_file_is_read_whatever_program_wrote_it(code: str) -> None:
    text = "Time,Probe (°C)\n0,41\n"
    assert decode_csv(text.encode(code)) == text


def _cook_or_refusal(text: str) -> None:
    try:
        cook = _read(text)
    except LogFormatError:
        return
    lines = [json.dumps(record) for record in cook.records]
    again = parse_cook_lines([*list(cook_lines(cook.header, ()))[:1], *lines])
    assert (again.inputs, again.broken) == (cook.inputs, ())


@given(st.text())
def test_any_text_is_a_cook_or_refused(text: str) -> None:
    _cook_or_refusal(text)


_CELL = (
    st.sampled_from(
        ["", "0", "41", "1:30", "2026-06-13T14:03:05Z", "0001-01-01", "1e308", "-1", '"']
    )
    | st.text(max_size=6)
    | st.floats().map(str)
    | st.datetimes().map(str)
)


@example("0")
@given(st.lists(st.lists(_CELL, max_size=4).map(",".join), max_size=8).map("\n".join))
def test_any_rows_under_the_columns_are_a_cook_or_refused(rows: str) -> None:
    _cook_or_refusal(f"Time,Probe1,Probe2\n{rows}")


@given(st.binary(max_size=80))
def test_any_bytes_have_a_text(data: bytes) -> None:
    _cook_or_refusal(decode_csv(data))


def test_a_cell_of_digits_without_end_is_left_out_like_any_other() -> None:
    """Matched as a number it would take half an hour for each of these rows."""
    cell = f"{'1' * 120_000}x"
    rows = "\n".join(["0:10,5,6", *[f"{cell},{cell},{cell}"] * 20])
    cook = _read(f"Time,Probe1,Probe2\n{rows}")
    assert (len(cook.broken), len(cook.inputs)) == (20, 3)
