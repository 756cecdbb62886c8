"""``pullcall layout FILE --hex "3a 15"``: check a declared layout without the probe."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from pullcall.cli.table import table
from pullcall.degrees import celsius_to_fahrenheit
from pullcall.errors import LayoutError
from pullcall.sources.decoding.value import (
    Refusal,
    Verdict,
    hex_of,
)
from pullcall.sources.layout import FieldValue, decode, load_layout

_COLUMNS = ("channel", "offset", "type", "bytes", "raw", "value", "verdict")


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command to the parser."""
    parser = commands.add_parser(
        "layout",
        help="decode a packet, field by field, with a declared layout",
        description="Decode a packet, field by field, with a declared layout.",
    )
    parser.add_argument("file", type=Path, metavar="FILE", help="the layout, a TOML file")
    parser.add_argument(
        "--hex", required=True, metavar="BYTES", help='the packet, such as "3a 15 10 27"'
    )
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Print the table; 0 if every value is good, else 1."""
    try:
        layout = load_layout(args.file)
    except LayoutError as error:
        return _complain(str(error))
    packet = _packet(args.hex)
    if packet is None:
        return _complain(
            f'--hex: {args.hex!r} is not bytes in hex; write pairs of digits, such as "3a 15".'
        )
    values = decode(layout, packet)
    if isinstance(values, Refusal):
        return _complain(f"{layout.name}: the packet is {values.reason}.")
    print(f"{layout.name}: {hex_of(packet)}")
    print("\n".join(table([_COLUMNS, *(_row(value) for value in values)])))
    return 0 if all(value.temperature.verdict is Verdict.GOOD for value in values) else 1


def _complain(sentence: str) -> int:
    print(f"pullcall: {sentence}", file=sys.stderr)
    return 1


def _packet(text: str) -> bytes | None:
    joined = "".join(text.replace("0x", " ").replace(":", " ").replace(",", " ").split())
    try:
        return bytes.fromhex(joined) or None
    except ValueError:
        return None


def _row(read: FieldValue) -> tuple[str, ...]:
    field, number = read.field, read.number
    last = field.end - 1
    return (
        str(field.channel),
        str(field.offset) if last == field.offset else f"{field.offset}-{last}",
        field.type.value,
        hex_of(read.raw),
        "-" if number.number is None else f"{number.number:g}",
        _value(read),
        read.temperature.verdict.value,
    )


def _value(read: FieldValue) -> str:
    if read.temperature.celsius is None:
        return "no reading"
    celsius = read.temperature.celsius
    return f"{celsius:.2f} C ({celsius_to_fahrenheit(celsius):.1f} F)"
