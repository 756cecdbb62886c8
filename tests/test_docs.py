"""Everything a person can meet is in the docs, and every file in config/ loads."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from pullcall.api.openapi import description
from pullcall.errors import LayoutError
from pullcall.events import CallKind, MarkKind
from pullcall.settings import load_settings
from pullcall.sources.layout import load_layout

ROOT = Path(__file__).parents[1]
STREAM = (ROOT / "docs" / "stream.md").read_text()
ACCESS = (ROOT / "docs" / "access.md").read_text()
AFTER = (ROOT / "docs" / "after.md").read_text()
COOK_LOG = (ROOT / "docs" / "cook-log.md").read_text()


@pytest.mark.parametrize("path", sorted((ROOT / "config").rglob("*.toml")), ids=lambda p: p.name)
def test_every_file_in_config_loads(path: Path) -> None:
    try:
        load_layout(path)
    except LayoutError:
        assert path.parent.name != "layouts", f"{path} is not a layout that loads"
        load_settings(path)


@pytest.mark.parametrize("route", [r for r in description()["paths"] if "/events" not in r])
def test_every_route_is_documented(route: str) -> None:
    short = route.removeprefix("/api/v1")  # after.md names its routes below it once
    told = re.search(rf"`(GET|POST|PUT|PATCH|DELETE) {re.escape(short)}[`?]", AFTER)
    assert route in STREAM or route in ACCESS or told


def test_every_message_that_pages_receive_is_documented() -> None:
    sources = [
        *(ROOT / "daemon/pullcall/site").glob("*.py"),
        ROOT / "api/pullcall/api/routes/stream.py",
    ]
    text = "".join(path.read_text() for path in sources)
    sent = set(re.findall(r'(?:publish|whisper)\(\s*"(\w+)"', text)) | {"hello", "pong"}
    sent |= {"reading", "spot", "mark", "undo", "setting"}
    assert {"tick", "forecast", "call"} <= sent
    missing = [kind for kind in sorted(sent) if f"`{kind}`" not in STREAM]
    assert missing == []


def test_every_call_and_mark_is_documented() -> None:
    assert [kind for kind in CallKind if f"`{kind}`" not in COOK_LOG] == []
    assert [kind for kind in MarkKind if f"`{kind}`" not in COOK_LOG] == []


def test_the_readme_names_its_two_commands_and_its_pictures_exist() -> None:
    readme = (ROOT / "README.md").read_text()
    assert "make demo" in readme
    assert "make test" in readme
    for picture in re.findall(r'src="([^"]+)"', readme):
        assert (ROOT / picture).is_file(), f"{picture} is missing"


def test_links_in_the_docs_lead_somewhere() -> None:
    for page in [*ROOT.glob("*.md"), *(ROOT / "docs").glob("*.md")]:
        for link in re.findall(r"\]\(([^)#:]+)\)", page.read_text()):
            assert (page.parent / link).exists(), f"{page.name} links to {link}, which is missing"
