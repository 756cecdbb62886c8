"""A file is the old one or the new one, never half of it, whoever writes it."""

from __future__ import annotations

import errno
import os
from collections.abc import Callable
from pathlib import Path

import pytest

from pullcall.access.paired_file import PairedFile
from pullcall.bus.position_file import PositionFile
from pullcall.tls.authority import make_authority
from pullcall.tls.safe import Safe
from pullcall.whole_file import replace_whole
from tests.access.registers import NOON, NOTHING

AUTHORITY = make_authority("pit", (), NOON)
WRITERS: dict[str, Callable[[Path], object]] = {
    "paired.json": lambda path: PairedFile(path).save(NOTHING, 0.0, NOON),
    "cooks.mqtt.json": lambda path: PositionFile(path, "broker").save({"a": 1}),
    "leaf.pem": lambda path: Safe(path.parent).write("leaf", AUTHORITY),
    "any": lambda path: replace_whole(path, b"new"),
}


@pytest.mark.parametrize("name", WRITERS)
def test_what_a_stop_left_is_replaced_and_never_followed(tmp_path: Path, name: str) -> None:
    elsewhere = tmp_path / "elsewhere"
    elsewhere.write_text("untouched")
    (tmp_path / f"{name}.new").symlink_to(elsewhere)
    WRITERS[name](tmp_path / name)
    assert elsewhere.read_text() == "untouched"
    assert (tmp_path / name).stat().st_mode & 0o777 == 0o600
    assert {file.name for file in tmp_path.iterdir()} == {name, "elsewhere"}


@pytest.mark.parametrize("name", [name for name in WRITERS if name != "cooks.mqtt.json"])
def test_a_disk_that_does_not_sync_leaves_the_old_file_and_nothing_else(
    tmp_path: Path, name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    def is_broken(descriptor: int) -> None:
        raise OSError(errno.EIO, "Input/output error")

    (tmp_path / name).write_bytes(b"old")
    monkeypatch.setattr(os, "fsync", is_broken)
    with pytest.raises(Exception, match="Input/output error"):
        WRITERS[name](tmp_path / name)
    assert (tmp_path / name).read_bytes() == b"old"
    assert [file.name for file in tmp_path.iterdir()] == [name]


def test_what_a_loss_of_power_may_take_does_not_wait_for_the_disk(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(os, "fsync", lambda descriptor: pytest.fail("waits"))
    assert PositionFile(tmp_path / "cooks.mqtt.json", "broker").save({"a": 1})
