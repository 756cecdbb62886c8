"""Layouts: their files, their numbers, their verdicts."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pullcall.errors import LayoutError
from pullcall.sources.decoding import Refusal, Verdict
from pullcall.sources.layout import Layout, decode, load_layout
from pullcall.sources.layout.numbers import NumberType

LAYOUTS = sorted((Path(__file__).parents[3] / "config" / "layouts").glob("*.toml"))

TWIN = """
name = "twin"
[device]
name = "Twin*"
[where]
characteristic = "fff1"
[[field]]
channel = 1
offset = 0
type = "i16le"
scale = 0.01
invalid = [0x8000]
range = [-40, 300]
"""


def written(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "probe.toml"
    path.write_text(text, encoding="utf-8")
    return path


def complaint(tmp_path: Path, text: str) -> str:
    with pytest.raises(LayoutError) as caught:
        load_layout(written(tmp_path, text))
    return str(caught.value)


@pytest.mark.parametrize("path", LAYOUTS, ids=lambda path: path.name)
def test_every_layout_in_config_loads(path: Path) -> None:
    assert load_layout(path).name


def test_there_are_layouts_in_config() -> None:
    assert LAYOUTS


# Source of 3a 15 as 54.34: GATT Specification Supplement, a signed hundredth.
@pytest.mark.parametrize(
    ("packet", "verdict", "celsius"),
    [
        ("3a 15", Verdict.GOOD, 54.34),
        ("00 80", Verdict.INVALID, None),
        ("ff 7f", Verdict.OUT_OF_RANGE, 327.67),
    ],
)
def test_a_value_is_good_marked_or_out_of_range(
    tmp_path: Path, packet: str, verdict: Verdict, celsius: float | None
) -> None:
    values = decode(load_layout(written(tmp_path, TWIN)), bytes.fromhex(packet))
    assert not isinstance(values, Refusal)
    assert values[0].temperature.verdict is verdict
    assert values[0].temperature.celsius == (celsius and pytest.approx(celsius))


def test_a_marker_may_be_written_as_the_number_it_makes(tmp_path: Path) -> None:
    layout = load_layout(written(tmp_path, TWIN.replace("0x8000", "-32768")))
    values = decode(layout, bytes.fromhex("00 80"))
    assert not isinstance(values, Refusal)
    assert values[0].temperature.verdict is Verdict.INVALID


def test_fahrenheit_scale_and_shift_are_applied_before_the_range(tmp_path: Path) -> None:
    text = TWIN.replace("scale = 0.01", 'scale = 0.5\nadd = 10\nunit = "F"')
    values = decode(load_layout(written(tmp_path, text)), (404).to_bytes(2, "little"))
    assert not isinstance(values, Refusal)
    assert values[0].value == 212.0
    assert values[0].temperature.celsius == pytest.approx(100.0)


def test_a_short_packet_is_refused_with_the_channel_that_misses_bytes(tmp_path: Path) -> None:
    refused = decode(load_layout(written(tmp_path, TWIN)), b"\x3a")
    assert refused == Refusal("too short: 1 bytes, and channel 1 needs 2")


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("scale", "scala", "field[1].scala: unknown key"),
        ("range = [-40, 300]", "", "field[1].range: is missing"),
        ("range = [-40, 300]", "range = [300, -40]", "[lowest, highest]"),
        ('"i16le"', '"i17le"', "field[1].type"),
        ('name = "Twin*"', "", "device: give address, name or service"),
        ('name = "Twin*"', 'address = "AA:BB"', "AA:BB:CC:DD:EE:FF"),
        ('characteristic = "fff1"', "", "where: give exactly one"),
        ('characteristic = "fff1"', 'characteristic = "xyz"', "is no UUID"),
        ("channel = 1", 'channel = "1"', "field[1].channel"),
        ("scale = 0.01", "scale = 0", "scale must not be 0"),
        ("offset = 0", "offset = -1", "field[1].offset"),
        ("[where]", "[where", "is not TOML"),
        ("[[field]]", "[[fields]]", "fields: unknown key"),
    ],
)
def test_a_slip_is_named_with_file_and_key(tmp_path: Path, old: str, new: str, words: str) -> None:
    said = complaint(tmp_path, TWIN.replace(old, new, 1))
    assert words in said
    assert "probe.toml" in said


def test_every_slip_gets_its_own_line(tmp_path: Path) -> None:
    text = TWIN.replace("scale", "scala").replace("offset", "ofset")
    assert len(complaint(tmp_path, text).splitlines()) == 3


def test_two_fields_on_one_channel_are_a_slip(tmp_path: Path) -> None:
    assert "same channel" in complaint(tmp_path, TWIN + TWIN[TWIN.index("[[field]]") :])


def test_a_missing_file_is_named(tmp_path: Path) -> None:
    with pytest.raises(LayoutError, match=r"none\.toml: cannot be read"):
        load_layout(tmp_path / "none.toml")


def test_a_device_matches_by_all_keys_given() -> None:
    device = Layout.model_validate(
        {
            "name": "x",
            "device": {"name": "Twin*", "service": "fff0"},
            "where": {"characteristic": "fff1"},
            "field": [{"channel": 1, "offset": 0, "type": "u8", "range": [0, 1]}],
        }
    ).device
    service = "0000fff0-0000-1000-8000-00805f9b34fb"
    assert device.matches("AA:BB:CC:DD:EE:FF", "Twin 7", frozenset({service}))
    assert not device.matches("AA:BB:CC:DD:EE:FF", "Twin 7", frozenset())
    assert not device.matches("AA:BB:CC:DD:EE:FF", "twin 7", frozenset({service}))


# Reference: struct and int.from_bytes of the standard library.
@given(st.sampled_from([kind for kind in NumberType if kind != "float11073"]), st.data())
def test_every_whole_number_type_agrees_with_the_library(
    kind: NumberType, data: st.DataObject
) -> None:
    raw = data.draw(st.binary(min_size=kind.width, max_size=kind.width))
    order = "big" if kind.endswith("be") else "little"
    expected = int.from_bytes(raw, "big" if order == "big" else "little", signed=kind[0] == "i")
    assert kind.read(raw).number == expected


@given(st.sampled_from(LAYOUTS), st.binary(max_size=32))
def test_no_bytes_make_a_layout_raise(path: Path, packet: bytes) -> None:
    decoded = decode(load_layout(path), packet)
    assert isinstance(decoded, Refusal | tuple)


def test_a_scale_that_leads_beyond_all_numbers_gives_no_reading(tmp_path: Path) -> None:
    layout = load_layout(written(tmp_path, TWIN.replace("scale = 0.01", "scale = 1e306")))
    values = decode(layout, bytes.fromhex("00 40"))
    assert not isinstance(values, Refusal)
    assert (values[0].value, values[0].temperature.verdict) == (None, Verdict.INVALID)


def test_a_range_has_bounds_so_that_what_is_good_can_be_logged(tmp_path: Path) -> None:
    assert "field[1].range" in complaint(tmp_path, TWIN.replace("[-40, 300]", "[-40, 1e12]"))


@pytest.mark.parametrize(
    "text", ["a = " + "[" * 3000, "a = " + "9" * 5000], ids=["nested", "thousands of digits"]
)
def test_a_file_beyond_what_toml_can_be_read_is_told_as_one_that_is_none(
    tmp_path: Path, text: str
) -> None:
    assert "is not TOML" in complaint(tmp_path, text)


def test_a_path_that_no_file_can_have_is_told() -> None:
    with pytest.raises(LayoutError):
        load_layout(Path("a\0b.toml"))
