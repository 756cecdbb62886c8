"""A cook's report and comparisons from the command line."""

from __future__ import annotations

import struct
from dataclasses import replace
from pathlib import Path

import pytest

from pullcall.cli.chromium import BrowserError, pdf_of, png_of
from pullcall.cli.main import main
from pullcall.events import Mark, MarkKind, Note
from pullcall.hindsight.shelf import Shelf
from pullcall.log.cook_file import CookFile, cook_lines, parse_cook_lines
from pullcall.log.entries import Entry
from pullcall.log.store import Store
from tests.cooks import HEADER, on, two_steak_cook
from tests.report.hand import cook, steak
from tests.report.test_sheet_seen import pages
from tests.tools import require_tool

WALL = "2026-06-13T16:00:00+00:00"
#: Ids with the day of June and how cold the left steak began, Celsius.
COOKS = (("cook-a", 10, 5.0), ("cook-b", 11, 5.5), ("cook-c", 12, 9.0))


def recorded(name: str) -> CookFile:
    header = replace(HEADER, cook=name)
    return parse_cook_lines(cook_lines(header, two_steak_cook(60.0)))


@pytest.fixture
def log(tmp_path: Path) -> Path:
    """Three cooks that are over, with facts made by hand on the shelf."""
    path = tmp_path / "cooks.db"
    with Store(path) as store:
        for name, day, start_c in COOKS:
            started = f"2026-06-{day}T13:40:00+00:00"
            file = recorded(name)
            header = replace(file.header, started=started, simulated=True)
            lines = cook_lines(header, file.inputs)
            store.bring_in(parse_cook_lines(lines), WALL)
            facts = cook(name, (steak(start_c=start_c), steak("right", 140.0)), started)
            Shelf(path).keep_facts(name, store.stand(name), facts)
        store.note("cook-c", [Note(WALL, None, "place", "Riverside park")])
    return path


def test_a_report_holds_the_last_cook_against_those_before(
    log: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "report.html"
    assert main(["report", "last", "--log", str(log), "-o", str(out)]) == 0
    html = out.read_text()
    assert "Riverside park, 12 June 2026" in html
    told = capsys.readouterr().err
    assert "The last cook: cook-c, of 12 June 2026, " in told
    assert f"Wrote {out}: the cook of 12 June 2026, " in told
    assert "warmer than last time (41.9 F)" in html


def test_the_first_cook_is_held_against_none(
    log: Path, capsysbinary: pytest.CaptureFixture[bytes]
) -> None:
    assert main(["report", "cook-a", "--log", str(log), "-o", "-", "--unit", "C"]) == 0
    html = capsysbinary.readouterr().out.decode()
    assert html.startswith("<!doctype html>")
    assert "There is no earlier cook" in html
    assert "129.0 F" not in html


def test_against_one_cook(log: Path, tmp_path: Path) -> None:
    out = str(tmp_path / "report.html")
    command = ["report", "last", "--against", "cook-a", "--log", str(log), "-o", out]
    assert main(command) == 0
    assert "warmer than last time (41.0 F)" in Path(out).read_text()


def test_a_cook_file_is_worked_out(tmp_path: Path) -> None:
    file, out = tmp_path / "cook.jsonl", tmp_path / "report.html"
    file.write_text("\n".join(cook_lines(HEADER, two_steak_cook(60.0))) + "\n")
    nowhere = str(tmp_path / "none.db")
    assert main(["report", str(file), "--log", nowhere, "-o", str(out)]) == 0
    assert HEADER.cook in out.read_text()


@pytest.mark.parametrize(
    "command, says",
    [
        (["report", "last"], "-o FILE"),
        (["report", "nobody", "-o", "-"], "nobody"),
        (["report", "./none.jsonl", "-o", "-"], "check the path"),
        (["compare", "cook-a"], "two to 6"),
        (["compare", "cook-c", "last"], "cook-c is there twice (cook-c and last mean the same"),
        (["compare", "cook-a", "cook-a"], "cook-a is there twice."),
        (["report", "last", "-o", "/none/there.html"], "choose another path"),
    ],
)
def test_what_cannot_be_done_is_said(
    log: Path, command: list[str], says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main([*command, "--log", str(log)]) == 1
    assert says in capsys.readouterr().err


def test_an_empty_logbook_has_no_last_cook(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "cooks.db"
    Store(path).close()
    assert main(["report", "last", "--log", str(path), "-o", "-"]) == 1
    assert "no last cook yet" in capsys.readouterr().err
    with Store(path) as store:
        store.begin(HEADER, "boot", 0.0)
    assert main(["report", "last", "--log", str(path), "-o", "-"]) == 1
    assert "none is over" in capsys.readouterr().err


def test_a_cook_handed_in_is_the_last_though_the_daemon_was_stopped(
    log: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    started = "2026-06-14T13:40:00+00:00"
    with Store(log) as store:
        store.begin(replace(HEADER, cook="cook-d", started=started), "boot", 0.0)
        done = [on(), Mark(400.0, None, MarkKind.HANDED_IN, "in")]
        store.write([Entry("cook-d", event) for event in done])
        store.begin(replace(HEADER, cook="next", started="2026-06-15T13:40:00Z"), "boot", 0.0)
        facts = cook("cook-d", (steak(),), started)
        Shelf(log).keep_facts("cook-d", store.stand("cook-d"), facts)
    assert main(["compare", "cook-c", "last", "--log", str(log)]) == 0
    assert "B  14 June 2026, " in capsys.readouterr().out


def test_cooks_side_by_side_as_a_table_or_a_sheet(
    log: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    command = ["compare", "cook-a", "last", "--log", str(log), "--unit", "C"]
    assert main(command) == 0
    printed = capsys.readouterr().out
    assert "B  Riverside park, 12 June 2026" in printed
    assert "Left: start temperature: A 5.0 C, B 9.0 C." in printed
    out = tmp_path / "compared.html"
    assert main([*command, "-o", str(out)]) == 0
    assert out.read_text().count("<svg") == 2


def test_without_chromium_it_is_said_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PATH", "/nowhere")
    with pytest.raises(BrowserError, match="apt install chromium"):
        pdf_of("<p>x</p>")


def test_a_chromium_that_ends_at_once_is_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    program = tmp_path / "chromium"
    program.write_text("#!/bin/sh\nexit 3\n")
    program.chmod(0o755)
    monkeypatch.setenv("PATH", str(tmp_path))
    with pytest.raises(BrowserError, match="try again"):
        png_of("<p>x</p>")


@pytest.mark.integration
def test_a_picture_is_as_wide_as_a_phone_and_paper_is_one_page(log: Path, tmp_path: Path) -> None:
    require_tool("chromium", "chromium")
    png, pdf = tmp_path / "report.png", tmp_path / "report.pdf"
    command = ["report", "last", "--log", str(log), "--png", str(png), "--pdf", str(pdf)]
    assert main(command) == 0
    picture = png.read_bytes()
    assert picture.startswith(b"\x89PNG")
    width, height = struct.unpack(">II", picture[16:24])
    assert width == 780
    assert height > 2_000
    assert pages(pdf.read_bytes()) == 1
