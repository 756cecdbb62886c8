"""A layout file: the text of a declaration, and the packets that it then reads."""

from __future__ import annotations

from pathlib import Path

from pullcall.errors import LayoutError
from pullcall.sources.decoding import Refusal
from pullcall.sources.layout import Layout, decode, load_layout
from tests.fuzz.honest import check_temperature, check_words
from tests.fuzz.scratch import scratch
from tests.fuzz.target import Target

_EXAMPLE = Path(__file__).parents[3] / "config" / "layouts" / "twin-prong.toml"
_FOLDER = scratch()
_FILE = _FOLDER / "layout.toml"
_PACKETS = (b"\xff" * 600, b"\x7f" * 600, bytes(600), bytes(range(256)) * 3)
_SMALL = b"""name="x"
[device]
name="*"
[where]
manufacturer_data=1
[[field]]
channel=1
offset=0
type="u32be"
scale=1e300
add=-1e308
unit="F"
invalid=[0]
range=[-40,400]
"""


def check(data: bytes) -> None:
    """A file. What can be declared reads any packet, and gives only values that can be logged."""
    _FILE.write_bytes(data)
    try:
        layout = load_layout(_FILE)
    except LayoutError as error:
        for line in str(error).splitlines():
            check_words(line)
        return
    assert Layout.model_validate_json(layout.model_dump_json()) == layout
    for packet in _PACKETS:
        found = decode(layout, packet)
        assert not isinstance(found, Refusal)
        assert decode(layout, memoryview(packet)) == found  # type: ignore[arg-type]
        for value in found:
            check_temperature(value.temperature, (-1e6, 1e6))


TARGET = Target(
    check,
    (
        _SMALL,
        b"\n".join(
            line.partition(b"#")[0].strip() for line in _EXAMPLE.read_bytes().splitlines() if line
        ),
        b"name = 1\nfield = []\n",
        b"a = [[[[",
        b"",
    ),
    (
        b"name=", b"[device]", b"address=", b"service=", b"[where]", b"characteristic=",
        b"service_data=", b"manufacturer_data=", b"[[field]]", b"channel=", b"offset=", b"type=",
        b"scale=", b"add=", b"unit=", b"invalid=", b"range=", b'"float11073"', b'"i24be"', b'"u8"',
        b"inf", b"nan", b"1e308", b"0xFFFF", b"'''", b"2026-06-13",
    ),
    longest=900, weight=1.5,
)  # fmt: skip
