"""A rival's texts in a cook that is shared: its report, its comparison, its chart in a browser."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from pullcall.cli.main import main
from pullcall.events import CookHeader, End, SteakSettings
from pullcall.log.cook_file import cook_lines
from tests.cooks import in_time_order, off, on, rising
from tests.page.hostile import EVIL, Rival

pytestmark = pytest.mark.integration


@pytest.fixture
def log(tmp_path: Path) -> Path:
    """Two cooks of somebody else were brought in, with markup in all they could be given."""
    path = tmp_path / "cooks.db"
    for name in ("one", "two"):
        steaks = (SteakSettings(EVIL, look=EVIL, target_c=57.0), SteakSettings(f"right{EVIL}"))
        header = CookHeader(name, "2026-07-04T12:00:00+00:00", steaks=steaks)
        inputs = in_time_order(
            [on(0.1), off(305.0, EVIL), off(305.1, f"right{EVIL}"), End(900.0)],
            rising(EVIL, 0.2, 305.0, 5.0, 48.9 / 300.0),
            rising(f"right{EVIL}", 0.3, 305.0, 5.0, 48.9 / 320.0),
        )
        lines = list(cook_lines(header, inputs))
        for note in ("place", "contest", "notes", "score.taste", f"score.{EVIL}"):
            record = {"record": "note", "wall": "2026-07-04T13:00:00Z", "steak": None}
            lines.append(json.dumps({**record, "name": note, "value": EVIL}))
        file = tmp_path / f"{name}.jsonl"
        file.write_text("\n".join(lines))
        assert main(["import", str(file), "--log", str(path)]) == 0
    return path


@pytest.mark.parametrize("command", [("report", "one"), ("compare", "one", "two")])
def test_a_rivals_texts_do_nothing_on_a_sheet(
    browser: Browser, log: Path, tmp_path: Path, command: tuple[str, ...]
) -> None:
    """Opened as a file, where no policy of the site's helps."""
    sheet = tmp_path / "sheet.html"
    assert main([*command, "--log", str(log), "-o", str(sheet)]) == 0
    rival = Rival()
    page = browser.new_page()
    rival.poison(page)
    page.goto(sheet.as_uri())
    assert "x-evil" in page.locator("body").inner_text()
    assert page.locator("svg").count() > 0
    assert rival.gain(page) == []
    page.context.close()
