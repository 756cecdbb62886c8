"""A cook file that is imported: its header, its records, and the same bytes when it goes on."""

from __future__ import annotations

import math
from functools import cache

from pullcall.errors import LogFormatError
from pullcall.events import Reading, Spot
from pullcall.log.cook_file import CookFile, in_time_order, parse_cook_lines
from pullcall.log.header import header_record
from pullcall.log.records import to_line
from tests.fuzz.honest import check_words
from tests.fuzz.target import Target

#: What the log holds back beyond: no time and no temperature of a cook comes near.
_LARGEST = 1e9


@cache
def seeds() -> tuple[bytes, ...]:
    """A cook with every setting and kind of record, and odd ones."""
    whole = (
        b'{"record":"cook","version":1,"cook":"c-1","started":"2026-06-13T13:40:00Z","steaks":['
        b'{"steak":"left","thickness_mm":38.5,"start_c":4,"pull_c":53.9,"target_c":57,"channel":'
        b'"AA:01/1","pull_by":"target","shift_c":-0.5,"look":"thick"}],"rest_on":"board","plan":'
        b'[{"t":120,"mark":"turn"},{"t":240,"mark":"flip"}],"window":{"opens":'
        b'"2026-06-13T14:00:00Z","closes":"2026-06-13T14:30:00Z"},"carry_over":"five_degrees",'
        b'"aim_share":0.5,"durations":{"walk":[60,90]},"offset_s":30,"fire":{"channel":"G/1",'
        b'"floor_c":250,"ceiling_c":400},"lessons":{"prior":{"hot_level":[125.5,7.25]},"climb_c":1,'
        b'"own_climb_c":3,"band":1.2,"reaction_s":4,"durations":["walk"]},"simulated":true,"x":{}}\n'
        b'{"record":"note","wall":"2026-06-13T15:00:00Z","steak":"left","name":"tags","value":["a"]}\n'
        b'{"record":"setting","t":1,"steak":null,"name":"started","value":"2026-06-13T13:41:00Z"}\n'
        b'{"record":"reading","t":1.5,"steak":"left","celsius":5.25,"channel":"AA:01/1"}\n'
        b'{"record":"mark","t":2,"steak":null,"mark":"on","id":"m1","at":1.5}\n'
        b'{"record":"spot","t":2,"steak":"left","celsius":31.5,"id":"s1"}\n'
        b'{"record":"ack","t":2,"call":"c1","by":"x"}\n{"record":"undo","t":2,"id":"m1"}\n'
        b'{"record":"restart","t":2}\n{"record":"reached","t":2}\n{"record":"end","t":3}\n'
        b'{"record":"condition","t":2,"fault":"disk","active":true,"detail":"x"}\n'
        b'{"record":"shelve","t":3,"call":"c1","by":"x","for_s":60}\n{"record":"later","t":"x"}\n'
        b'{"record":"omission","t":4,"failed_t":2,"why":"E","input":{"record":"reading","t":1.5,'
        b'"steak":"left","celsius":5.25,"channel":"AA:01/1"}}\n'
        b'{"record":"omission","t":4,"failed_t":2,"why":"E","span":[1,2],"kinds":["spot","mark"]}\n'
    )
    head = whole[: whole.index(b"\n") + 1]
    return (
        whole,
        head + b'{"record":"odd","x":' + b"[" * 900 + b"]" * 900 + b"}\n",
        head + b'{"record":"odd","x":' + b"9" * 2000 + b"}\n",
        head + b'{"record":"reading","t":1e999,"steak":"left","celsius":1}\n\xff\n\x00\n',
        b'{"record":"cook","version":2}',
        b"",
    )


WORDS = (
    b'"record":"reading"', b'"record":"mark"', b'"record":"spot"', b'"record":"undo"',
    b'"record":"ack"', b'"record":"restart"', b'"record":"reached"', b'"record":"end"', b'"t":',
    b'"at":', b'"steak":', b'"celsius":', b'"mark":"on"', b'"mark":"off"', b'"id":', b'"name":',
    b'"value":', b'"version":1', b'"steaks":[', b'"plan":[', b'"durations":{', b'"lessons":{',
    b'"prior":{', b'"fire":{', b'"window":{', b"\n",
    b'"record":"omission"', b'"input":{', b'"span":[', b'"kinds":[',
)  # fmt: skip


def check(data: bytes) -> None:
    """What was read is written and read again to the same bytes, as export and import do."""
    try:
        cook = parse_cook_lines(data.decode("utf-8", "replace").split("\n"))
    except LogFormatError as error:
        check_words(str(error))
        return
    for broken in cook.broken:
        check_words(str(broken))
    _check_bounds(cook)
    lines = exported(cook)
    again = parse_cook_lines(lines)
    assert not again.broken
    assert exported(again) == lines
    assert (again.header, again.inputs, again.notes) == (cook.header, cook.inputs, cook.notes)


def exported(cook: CookFile) -> list[str]:
    """The lines as the log writes them down when a cook is brought in."""
    ordered = (to_line(record) for _, record in in_time_order(cook.records))
    lines = [to_line(header_record(cook.header)), *ordered]
    for line in lines:
        line.encode()
    return lines


def _check_bounds(cook: CookFile) -> None:
    for event in cook.inputs:
        assert math.isfinite(event.t) and abs(event.t) < _LARGEST
        if isinstance(event, Reading | Spot):
            assert math.isfinite(event.celsius) and abs(event.celsius) < _LARGEST
    times = [event.t for event in cook.inputs]
    assert times == sorted(times)


TARGET = Target(check, seeds(), WORDS, longest=4096, weight=2)
