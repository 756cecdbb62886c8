"""Cook files are read as design says: a broken line is named, the rest is kept."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pullcall.errors import LogError, LogFormatError
from pullcall.events import (
    Acknowledgement,
    CookHeader,
    End,
    Input,
    Lessons,
    Mark,
    MarkKind,
    Normal,
    Note,
    Reading,
    Setting,
    Spot,
    SteakSettings,
    Undo,
    Window,
)
from pullcall.log.cook_file import cook_lines, parse_cook_lines, read_cook_file
from pullcall.log.records import to_line

HEADER = (
    '{"record":"cook","version":1,"cook":"c","started":"2026-06-13T13:40:00Z",'
    '"steaks":[{"steak":"left"}]}'
)
EVERYTHING: list[Input] = [
    Reading(-1.5, "left", 5.25, "AA:01/1"),
    Reading(-1.0, None, 5.25, "AA:01/2"),
    Mark(0.5, None, MarkKind.ON, "m1"),
    Mark(9.5, "left", MarkKind.TURN, "m2", at=8.25),
    Spot(10.0, "left", 31.5, "s1"),
    Setting(11.0, "left", "pull_c", 54.5),
    Setting(11.0, "left", "channel", None),
    Acknowledgement(12.0, "c1", "phone"),
    Undo(13.0, "m2"),
    End(14.0),
]


def test_what_is_written_is_read_back_unchanged() -> None:
    header = CookHeader(
        "c1",
        "2026-06-13T13:40:00Z",
        steaks=(SteakSettings("left", 31.0, 4.0, 53.5, 57.0, "AA:01/1"), SteakSettings("rechts")),
        rest_on="board",
        window=Window("2026-06-13T14:00:00Z", "2026-06-13T14:30:00Z"),
        simulated=True,
        lessons=Lessons(
            {"hot_level": Normal(125.5, 7.25)},
            climb_c=-0.2,
            own_climb_c=2.75,
            band=1.25,
            reaction_s=2.5,
        ),
    )
    back = parse_cook_lines(cook_lines(header, EVERYTHING))
    assert back.header == header
    assert list(back.inputs) == EVERYTHING
    assert back.broken == ()


def test_a_broken_line_is_named_by_number_and_the_rest_is_kept() -> None:
    lines = [
        HEADER,
        '{"record":"reading","t":1,"steak":"left","celsius":8.1}',
        '{"record":"reading","t":2,"steak":"le',
        '{"record":"reading","t":3,"steak":"left","celsius":"warm"}',
        '{"record":"mark","t":4,"steak":"left","mark":"juggle"}',
        '{"record":"reading","t":NaN,"steak":"left","celsius":9}',
        "[1, 2]",
        '{"record":"reading","t":5,"steak":"left","celsius":8.2}',
    ]
    cook = parse_cook_lines(lines)
    assert [b.number for b in cook.broken] == [3, 4, 5, 6, 7]
    assert "celsius must be a number, not 'warm'" in str(cook.broken[1])
    assert "mark must be one of on, turn, flip" in str(cook.broken[2])
    assert [e.t for e in cook.inputs] == [1.0, 5.0]


def test_unknown_keys_and_kinds_are_kept_and_ignored() -> None:
    line = '{"record":"weather","t":1,"wind":"north"}'
    extra = '{"record":"reading","t":2,"steak":"left","celsius":8.1,"humidity":40}'
    cook = parse_cook_lines([HEADER.replace('"cook":"c"', '"cook":"c","pit":"three"'), line, extra])
    assert cook.header.extra == {"pit": "three"}
    assert [json.dumps(r, separators=(",", ":")) for r in cook.records] == [line, extra]
    assert len(cook.inputs) == 1


def test_a_broken_note_is_named_and_an_unknown_value_is_kept_and_ignored() -> None:
    lines = [
        HEADER,
        '{"record":"note","wall":"w","steak":null,"name":"place","value":"Riverside"}',
        '{"record":"note","steak":null,"name":"place","value":"Riverside"}',
        '{"record":"note","wall":"w","steak":null,"name":"","value":"Riverside"}',
        '{"record":"note","wall":"w","steak":null,"name":"place"}',
        '{"record":"note","wall":"w","steak":"left","name":"weight_g","value":1e400}',
        '{"record":"note","wall":"w","steak":null,"name":"map","value":{"north":1}}',
        '{"record":"note","wall":"w","steak":null,"name":"photos","value":["a.jpg"],"by":"x"}',
    ]
    cook = parse_cook_lines(lines)
    assert [b.number for b in cook.broken] == [3, 4, 5, 6]
    assert cook.notes == (
        Note("w", None, "place", "Riverside"),
        Note("w", None, "photos", ("a.jpg",)),
    )
    assert [to_line(r) for r in cook.records] == [lines[1], lines[6], lines[7]]
    assert cook.inputs == ()


@pytest.mark.parametrize("value", ["NaN", "-Infinity", "1e999", '"\\ud800"', '["\\udfff"]'])
def test_what_could_not_be_written_again_is_a_broken_line(value: str) -> None:
    cook = parse_cook_lines([HEADER, f'{{"record":"weather","t":1,"wind":{value}}}'])
    assert [b.number for b in cook.broken] == [2]


@pytest.mark.parametrize(
    ("first", "says"),
    [
        ("", "The file is empty"),
        ("not json", "not a cook header"),
        ('{"record":"reading"}', "not a cook header"),
        (HEADER.replace('"version":1', '"version":7'), "version 7.*update Pullcall"),
        (HEADER.replace('[{"steak":"left"}]', "[]"), "correct line 1"),
        (HEADER.replace('[{"steak":"left"}]', '["left"]'), "correct line 1"),
        (HEADER.replace("}]}", '}],"window":"now"}'), "correct line 1"),
        (HEADER.replace("}]}", '}],"plan":[{"t":1,"mark":"baste"}]}'), "only turns and flips"),
        (HEADER.replace("left", "a\\ud800"), "plain text"),
        (HEADER.replace("left", "a\\u2028b"), "plain text"),
        (HEADER.replace('"started":"2026-06-13T13:40:00Z",', ""), "started must be a plain text"),
    ],
)
def test_a_header_that_cannot_be_read_says_what_to_do(first: str, says: str) -> None:
    with pytest.raises(LogFormatError, match=says):
        parse_cook_lines([first])


def test_a_missing_file_is_one_sentence(tmp_path: Path) -> None:
    with pytest.raises(LogError, match="Check the path"):
        read_cook_file(tmp_path / "none.jsonl")


def test_records_out_of_order_are_put_in_time_order() -> None:
    late = '{"record":"reading","t":9,"steak":"left","celsius":9}'
    early = '{"record":"reading","t":2,"steak":"left","celsius":8}'
    assert [e.t for e in parse_cook_lines([HEADER, late, early]).inputs] == [2.0, 9.0]


@given(st.lists(st.text(max_size=60), max_size=6))
def test_any_text_after_the_header_never_raises(lines: list[str]) -> None:
    cook = parse_cook_lines([HEADER, *lines])
    assert len(cook.inputs) <= len(lines)


_JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner),
    max_leaves=6,
)


@given(_JSON, _JSON, _JSON)
def test_any_note_is_read_kept_or_named_but_never_raises(
    steak: object, name: object, value: object
) -> None:
    record = {"record": "note", "wall": "w", "steak": steak, "name": name, "value": value}
    cook = parse_cook_lines([HEADER, json.dumps(record)])
    assert len(cook.records) + len(cook.broken) == 1


@given(
    st.fixed_dictionaries(
        {"record": st.sampled_from(["reading", "spot", "mark", "undo", "setting", "ack", "end"])},
        optional=dict.fromkeys(("t", "steak", "celsius", "mark", "id", "at", "name"), _JSON),
    )
)
def test_any_record_is_read_or_named_but_never_raises(record: dict[str, object]) -> None:
    cook = parse_cook_lines([HEADER, json.dumps(record)])
    assert len(cook.inputs) + len(cook.broken) == 1


def test_a_line_that_could_not_be_written_again_is_left_out() -> None:
    deep, long = "[" * 900 + "]" * 900, "x" * 2_000_000
    read = parse_cook_lines(
        [HEADER, f'{{"record":"odd","x":{deep}}}', f'{{"record":"odd","x":"{long}"}}']
    )
    assert [broken.reason for broken in read.broken] == [
        "nested too deep",
        "longer than any record",
    ]


@pytest.mark.parametrize(
    "steak",
    [
        '"thickness_mm":0',
        '"thickness_mm":-3',
        '"thickness_mm":1e-9',
        '"start_c":1e8',
        '"pull_c":-1e8',
        '"target_c":1e8',
        '"shift_c":1e8',
    ],
)
def test_settings_that_nothing_can_be_reckoned_with_are_refused(steak: str) -> None:
    header = HEADER.replace('"steak":"left"', f'"steak":"left",{steak}')
    with pytest.raises(LogFormatError, match="must lie between"):
        parse_cook_lines([header])


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("steaks", [{"steak": name} for name in "abc"]),
        ("plan", [{"t": 1, "mark": "turn"}] * 41),
        ("durations", {str(n): [1, 2] for n in range(41)}),
    ],
)
def test_a_header_has_no_more_of_anything_than_a_cook_can_have(key: str, value: object) -> None:
    with pytest.raises(LogFormatError):
        parse_cook_lines([json.dumps(json.loads(HEADER) | {key: value})])


def test_what_is_said_of_a_broken_line_is_short_however_long_the_line() -> None:
    long = "x" * 100_000
    lines = [
        f'{{"record":"reading","t":"{long}"}}',
        f'{{"record":"undo","t":1,"id":["{long}"]}}',
        f'{{"record":"mark","t":1,"mark":"{long}"}}',
        f'{{"record":"condition","t":1,"active":"{long}"}}',
    ]
    broken = parse_cook_lines([HEADER, *lines]).broken
    assert len(broken) == 4
    assert max(len(str(line)) for line in broken) < 300
