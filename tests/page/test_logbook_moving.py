"""Cooks in and out of the logbook: backup, restore, cook files and tables."""

from __future__ import annotations

from urllib.parse import parse_qs

import pytest
from playwright.sync_api import FilePayload, Locator, expect

from tests.page.open_logbook import open_logbook
from tests.page.visit import Open, Visit

pytestmark = pytest.mark.integration
TABLE = (
    b"\xef\xbb\xbfSaved by the pit, 6 June\r\n"
    b'Time;"Probe; 1";Right;"The ""grate"""\r\n0:00;41;42;500\r\n'
)


def _file(name: str, content: bytes) -> FilePayload:
    return {"name": name, "mimeType": "application/octet-stream", "buffer": content}


def _import(seen: Visit) -> Locator:
    return seen.page.get_by_role("region", name="Import a cook")


def _send(seen: Visit) -> None:
    seen.page.wait_for_timeout(400)  # two taps at once would count as one
    _import(seen).get_by_role("button", name="Import").click()


def test_a_backup_comes_out_and_goes_in_again_after_two_taps(visit: Open) -> None:
    seen = open_logbook(visit, "#moving")
    page = seen.page
    with page.expect_download() as download:
        page.get_by_role("link", name="Download a backup").click()
    assert download.value.suggested_filename == "pullcall.backup"
    restore = page.get_by_role("region", name="Restore")
    expect(restore.get_by_role("button", name="Restore it")).to_have_count(0)
    restore.get_by_label("The backup").set_input_files(_file("cooks.pullcall", b"all of it"))
    restore.get_by_role("button", name="Restore it: cooks.pullcall").click()
    assert seen.site.logbook.sent == []
    page.wait_for_timeout(550)
    restore.get_by_role("button", name="Tap again: add its cooks").click()
    expect(restore.locator(".done")).to_have_text("3 cooks came in; 1 was here already.")
    assert seen.site.logbook.sent == [("restore", "", b"all of it")]
    seen.site.logbook.refusal = "This is no backup of Pullcall: choose another file."
    for name in ("Restore it", "Tap again: add its cooks"):
        page.wait_for_timeout(550)
        restore.get_by_role("button", name=name).click()
    expect(restore.get_by_role("alert")).to_have_text(seen.site.logbook.refusal)


def test_a_cook_file_is_imported_and_each_broken_line_is_named(visit: Open) -> None:
    seen = open_logbook(visit, "#moving")
    part = _import(seen)
    part.get_by_label("The file").set_input_files(_file("june & may.jsonl", b'{"format": 1}\n'))
    expect(part.get_by_role("combobox")).to_have_count(0)
    _send(seen)
    expect(part.get_by_role("status").filter(has_text="512 records")).to_be_visible()
    expect(part).to_contain_text("line 7: no number in Probe 1")
    expect(part.get_by_role("link", name="See the cook")).to_have_attribute("href", "#cook=c2")
    ((path, query, body),) = seen.site.logbook.sent
    assert (path, parse_qs(query), body) == (
        "import", {"name": ["june & may.jsonl"]}, b'{"format": 1}\n')  # fmt: skip


def test_a_tables_columns_and_unit_are_asked_for_and_never_guessed(visit: Open) -> None:
    seen = open_logbook(visit, "#moving")
    part = _import(seen)
    part.get_by_label("The file").set_input_files(_file("probes.csv", TABLE))
    expect(part).to_contain_text('Its columns: Time · Probe; 1 · Right · The "grate".')
    expect(part.get_by_label("Time: which column")).to_have_value("Time")
    expect(part.get_by_label("Right's core: which column")).to_have_value("Right")
    part.get_by_label("Right's core: which column").select_option("")
    refused = part.get_by_role("alert")
    _send(seen)
    expect(refused).to_have_text("Choose the column of at least one steak's core.")
    part.get_by_label("Left's core: which column").select_option("Probe; 1")
    part.get_by_label("Grate: which column").select_option('The "grate"')
    part.get_by_label("flip").nth(1).fill("4:00")
    _send(seen)
    expect(refused).to_have_text("Say whether its temperatures are °F or °C.")
    part.get_by_label("°F").check()
    _send(seen)
    expect(refused).to_contain_text("Right has a mark and no column")
    part.get_by_label("flip").nth(1).fill("")
    part.get_by_label("on", exact=True).first.fill("0:40")
    assert seen.site.logbook.sent == []
    _send(seen)
    expect(part).to_contain_text("Imported: 512 records.")
    ((_, query, body),) = seen.site.logbook.sent
    assert body == TABLE
    assert parse_qs(query) == {
        "name": ["probes.csv"],
        "columns": ['time:Time,left:Probe; 1,grate:The "grate"'],
        "unit": ["F"],
        "on": ["left:0:40"],
    }
    assert seen.complaints == []
