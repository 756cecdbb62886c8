"""Each promise of the docs names the test or the command that holds it, and that is there."""

from __future__ import annotations

import ast
import re
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
RELIABILITY = ROOT / "docs" / "reliability"
PAGES = (*sorted(RELIABILITY.glob("*.md")), ROOT / "SECURITY.md")
#: A file, a test of it, or "…::test" and "::test": of the file named last.
_TEST = re.compile(r"`(?:(tests/[\w/]+\.py)(?:::(\w+))?|…?::(\w+))`")
_MAKE = re.compile(r"`make (\w+)(?: BENCH=(\w+))?")


@cache
def _names_in(path: Path) -> frozenset[str]:
    """Functions and classes of a file, by name."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    kinds = ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef
    assigned = (node.targets[0] for node in ast.walk(tree) if isinstance(node, ast.Assign))
    names = {node.id for node in assigned if isinstance(node, ast.Name)}  # state machines
    return frozenset(names | {node.name for node in ast.walk(tree) if isinstance(node, kinds)})


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.stem)
def test_every_test_that_a_page_names_is_there(page: Path) -> None:
    file = ""
    for named, of_it, of_the_last in _TEST.findall(page.read_text(encoding="utf-8")):
        file, name = named or file, of_it or of_the_last
        assert (ROOT / file).is_file(), f"{page.name} names {file}"
        if name:
            assert name in _names_in(ROOT / file), f"{page.name} names {file}::{name}"


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.stem)
def test_every_command_that_a_page_names_is_there(page: Path) -> None:
    made = (ROOT / "Makefile").read_text(encoding="utf-8")
    benches = (ROOT / "tests" / "bench" / "__main__.py").read_text(encoding="utf-8")
    for target, bench in _MAKE.findall(page.read_text(encoding="utf-8")):
        assert f"\n{target}:" in made, f"{page.name} names make {target}"
        assert not bench or f'"{bench}"' in benches, f"{page.name} names BENCH={bench}"


def test_every_row_of_promises_names_what_holds_it() -> None:
    rows = re.findall(r"^\| ([^|]+) \| ([^|]+) \|$", _overview(), re.MULTILINE)
    promises = [row for row in rows if row[0] != "promise" and not row[0].startswith("-")]
    assert len(promises) > 20
    for promise, holder in promises:
        assert _TEST.search(holder) or _MAKE.search(holder), promise


def test_every_page_of_reliability_is_in_the_overview() -> None:
    for page in RELIABILITY.glob("*.md"):
        assert page.name == "README.md" or f"({page.name})" in _overview(), page.name


def _overview() -> str:
    return (RELIABILITY / "README.md").read_text(encoding="utf-8")
