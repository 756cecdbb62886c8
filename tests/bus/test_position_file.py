"""Where the records stood, over a restart."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from pullcall.bus.position_file import PositionFile, position_beside


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return position_beside(tmp_path / "cooks.db")


def test_it_lies_beside_the_log() -> None:
    assert position_beside(Path("/logs/cooks.db")) == Path("/logs/cooks.mqtt.json")


def test_what_was_saved_is_loaded_for_the_same_broker_only(path: Path) -> None:
    assert PositionFile(path, "broker north").load() == {}
    PositionFile(path, "broker north").save({"a": 3, "b": -1})
    assert PositionFile(path, "broker north").load() == {"a": 3, "b": -1}
    assert PositionFile(path, "other north").load() == {}
    assert [file.name for file in path.parent.iterdir()] == ["cooks.mqtt.json"]


BROKEN = [
    b"",
    b"{",
    b"[]",
    b"\xff\xfe",
    json.dumps({"to": "broker north", "cooks": {"a": "3"}}).encode(),
    json.dumps({"to": "broker north", "cooks": {"a": 1e300}}).encode(),
    json.dumps({"to": "broker north", "cooks": {}, "version": 9}).encode(),
]


@pytest.mark.parametrize("content", BROKEN)
def test_a_broken_file_says_nothing_and_is_replaced(
    path: Path, content: bytes, caplog: pytest.LogCaptureFixture
) -> None:
    path.write_bytes(content)
    file = PositionFile(path, "broker north")
    assert file.load() == {}
    assert "records are sent again" in caplog.text
    file.save({"a": 5})
    assert file.load() == {"a": 5}


def test_a_file_that_cannot_be_read_says_nothing(path: Path) -> None:
    path.mkdir()
    assert PositionFile(path, "broker north").load() == {}


def test_where_it_cannot_be_written_the_journal_says_so_once(
    path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    path.mkdir()
    file = PositionFile(path, "broker north")
    for number in range(3):
        file.save({"a": number})
    assert [record.getMessage() for record in caplog.records] == [
        f"{path} cannot be written (Is a directory): check the disk."
    ]
