"""docs/probes.md says what the code does."""

import argparse
from pathlib import Path

import pytest

from pullcall.cli import layout
from pullcall.sources.layout import DeviceMatch, Field, Where
from pullcall.sources.layout.numbers import NumberType
from pullcall.sources.sink import AdapterState, LinkState

ROOT = Path(__file__).parents[3]
DOCS = (ROOT / "docs" / "probes.md").read_text(encoding="utf-8")


def test_every_key_of_a_layout_is_documented() -> None:
    keys = [f"`device.{key}`" for key in DeviceMatch.model_fields]
    keys += [f"`where.{key}`" for key in Where.model_fields]
    keys += [f"`field.{key}`" for key in Field.model_fields]
    assert [key for key in keys if key not in DOCS] == []


def test_every_number_type_is_documented() -> None:
    assert " ".join(NumberType) in DOCS


def test_every_state_is_documented() -> None:
    states = [*LinkState, *AdapterState]
    assert [state for state in states if f"\n| {state}" not in DOCS] == []


def test_the_worked_example_prints_what_is_shown(capsys: pytest.CaptureFixture[str]) -> None:
    parser = argparse.ArgumentParser()
    layout.add(parser.add_subparsers())
    path = ROOT / "config" / "layouts" / "twin-prong.toml"
    args = parser.parse_args(["layout", str(path), "--hex", "57 af 03 ff ff"])
    assert args.run(args) == 1
    for line in capsys.readouterr().out.splitlines():
        assert f"    {line}\n" in DOCS
