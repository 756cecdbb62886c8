"""A table of temperatures that is imported, with what a person says of it."""

from __future__ import annotations

from datetime import UTC, datetime

from pullcall.errors import LogFormatError
from pullcall.events import MarkKind, Reading
from pullcall.log.csv_cook import Columns, TableMark, Told, decode_csv, read_csv
from tests.fuzz.cards import Cards
from tests.fuzz.honest import check_words
from tests.fuzz.target import Target
from tests.fuzz.targets.cook_file import exported

_WHEN = datetime(2026, 6, 13, 13, 40, tzinfo=UTC)
_COLUMNS = (Columns("t", {"left": "a"}), Columns("t", {"left": "a", "right": "b"}, "g"))


def check(data: bytes) -> None:
    """A choice of columns, a mark's time, then the file."""
    cards = Cards(data)
    columns, unit = cards.pick(_COLUMNS), cards.pick(("C", "F"))
    mark = cards.line().decode("utf-8", "replace")
    marks = (TableMark(MarkKind.ON, "left", mark),) if mark else ()
    told = Told(columns, unit, marks)
    try:
        cook = read_csv(decode_csv(cards.rest()), told, name="day/t.csv", when=_WHEN, zone=UTC)
    except LogFormatError as error:
        check_words(str(error))
        return
    for broken in cook.broken:
        check_words(str(broken))
    assert exported(cook)
    for event in cook.inputs:
        assert abs(event.t) <= 2 * 86400.0
        assert not isinstance(event, Reading) or -60.0 <= event.celsius <= 1000.0


TARGET = Target(
    check,
    (
        b"\x00\x000:40\nt,a\n0:10,5.0\n0:20,6.5\n0:41,7\n",
        b"\x01\x01\nsome program\nt;a;b;g\n2026-06-13 14:03:05;41,0;;500\n"
        b"2026-06-13T14:03:06Z;x;2;3\n",
        b"\x00\x00\nt\ta\n23:59:59\t5\n00:00:01\t6\n",
        b"\x00\x00\n" + "t,a\n1,2\n".encode("utf-16"),
        b"\x00\x00\nt,a\n" + b"1" * 2000 + b"x,5\n",
        b"\x01\x00\nt,a,b,g\n1e3,1e999,\xff,-0\n",
    ),
    (b"t,a\n", b"t;a;b;g\n", b"12:31:05",
     b"2026-06-13T14:03:05+00:00", b"-23:59", b",", b";", b"\t"),
    longest=3000, weight=1.5,
)  # fmt: skip
