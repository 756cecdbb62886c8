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
PAGES = (*ROOT.glob("*.md"), *ROOT.glob("docs/**/*.md"), *ROOT.glob("tests/**/README.md"))
FOLDERS = ("api", "config", "daemon", "docs", "simulators", "tests")
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


def anchors(page: Path) -> set[str]:
    """What links to a part of a page call its headings."""
    heads = re.findall(r"^#+ (.+)$", page.read_text(), re.MULTILINE)
    words = [re.sub(r"\[([^]]*)\]\([^)]*\)", r"\1", head).lower() for head in heads]
    return {re.sub(r"[^\w -]", "", word).replace(" ", "-") for word in words}


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.relative_to(ROOT)))
def test_links_in_the_docs_lead_somewhere(page: Path) -> None:
    for link in re.findall(r"\]\(([^)\s]+)\)", page.read_text()):
        path, _, part = link.partition("#")
        if "://" not in link:
            there = page.parent / path if path else page
            assert there.exists(), f"{link} is missing"
            assert not part or part in anchors(there), f"{link} has no such heading"


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.relative_to(ROOT)))
def test_files_that_the_docs_name_are_there(page: Path) -> None:
    for path in re.findall(rf"`((?:{'|'.join(FOLDERS)})/(?!v1)[\w/.-]*)", page.read_text()):
        assert "..." in path or (ROOT / path).exists(), f"{path} is missing"


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.relative_to(ROOT)))
def test_keys_of_the_menu_that_the_docs_name_are_there(page: Path) -> None:
    menu = (ROOT / "api/pullcall/api/page/menu.js").read_text()
    for key in re.findall(r"Menu, \**([A-Z][a-z-]+)", page.read_text()):
        assert re.search(rf'["`]{key}[":]', menu), f"the menu has no {key}"


@pytest.mark.parametrize("root", ["daemon", "api", "simulators"])
def test_the_tree_names_every_folder_with_code_in_it(root: str) -> None:
    developers = (ROOT / "DEVELOPERS.md").read_text()
    tree = developers[developers.index("## The tree") : developers.index("## How to")]
    code = [path for path in (ROOT / root).rglob("*") if path.suffix in {".py", ".js"}]
    folders = {path.parent.name for path in code}
    assert [name for name in sorted(folders - {root}) if f"{name}/" not in tree] == []
