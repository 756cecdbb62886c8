"""What Pullcall brings along is pinned by sum, listed with its licence, and honestly audited."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.supply.audit import Audit, read, sentence
from tests.supply.licences import ACCEPTED, PAGE, listed, parts, told
from tests.supply.pinned import DEV, RUN, pins, wanted

RUN_NAMES = sorted({pin.name for pin in pins()})


@pytest.mark.parametrize("path", [RUN, DEV], ids=lambda path: path.stem)
def test_every_package_is_pinned_to_one_version_and_by_sha256(path: Path) -> None:
    for pin in pins(path):
        versions = [one.operator for one in pin.requirement.specifier]
        assert versions == ["=="], pin.name
        assert pin.hashes, pin.name
        assert all(re.fullmatch(r"sha256:[0-9a-f]{64}", one) for one in pin.hashes), pin.name


def test_what_is_asked_for_is_pinned() -> None:
    assert set(wanted()) <= set(RUN_NAMES)


def test_every_package_is_listed_with_a_licence_that_is_accepted() -> None:
    assert sorted(set(listed()) - {"uplot"}) == RUN_NAMES
    assert {name for name, licence in listed().items() if not parts(licence) <= ACCEPTED} == set()


@pytest.mark.parametrize("name", RUN_NAMES)
def test_a_listed_licence_is_the_one_that_the_package_tells(name: str) -> None:
    licence = told(name)
    if licence is None:
        assert not any(pin.is_for_here for pin in pins() if pin.name == name)
    else:
        assert listed()[name] == licence


def test_the_page_tells_why_each_package_asked_for_is_there() -> None:
    text = PAGE.read_text("utf-8")
    for name in wanted():
        row = re.search(rf"^\| `{name}` \|[^|]+\| (.+) \|$", text, re.MULTILINE)
        assert row, name
        assert not row[1].startswith("brought by"), name


def test_a_package_that_was_not_answered_for_is_skipped_and_not_sound() -> None:
    report = {
        "dependencies": [
            {"name": "sound", "version": "1", "vulns": []},
            {"name": "unknown", "skip_reason": "not found"},
            {"name": "weak", "version": "2", "vulns": [{"id": "EXAMPLE-1", "fix_versions": []}]},
        ]
    }
    audit = read(report)
    assert audit == Audit(("sound", "weak"), ("unknown",), {"weak": ("EXAMPLE-1",)})
    said = sentence(Path("some.txt"), audit, 3)
    assert "2 audited, 1 skipped" in said
    assert "weak: EXAMPLE-1" in said


def test_where_nobody_answered_no_package_is_called_sound() -> None:
    said = sentence(Path("some.txt"), Audit((), ("unknown",), {}), 0)
    assert "0 audited, 1 skipped" in said
    assert said.endswith("known weaknesses: nobody was asked")
