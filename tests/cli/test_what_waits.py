"""Whoever reads the log is told what it does not have yet."""

from __future__ import annotations

from pathlib import Path

import pytest

from pullcall.cli.main import main
from pullcall.events import Reading
from pullcall.log.entries import Entry, Place
from pullcall.log.spill import spill_beside
from pullcall.log.spill_file import SpillFile
from pullcall.log.spill_lines import Heading
from pullcall.log.store import Store
from tests.cooks import HEADER


@pytest.mark.parametrize("command", ["export", "backup", "logbook"])
def test_what_waits_for_the_log_is_named_beside_what_is_read(
    command: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    log, file = tmp_path / "cooks.db", SpillFile(spill_beside(tmp_path / "cooks.db"))
    with Store(log) as store:
        store.begin(HEADER, "boot", 0.0)
    given = {"export": [HEADER.cook], "backup": [str(tmp_path / "all")], "logbook": []}[command]
    file.reserve()
    assert main([command, *given, "--log", str(log)]) == 0
    assert capsys.readouterr().err == ""
    reading = Entry(HEADER.cook, Reading(1.0, None, 5.0, "p/1"))
    file.append(Heading("a1", 0, Place()), [reading, reading])
    assert main([command, *given, "--log", str(log)]) == 0
    said = capsys.readouterr().err
    assert f"2 entries of {HEADER.cook} wait in {file.path}" in said
