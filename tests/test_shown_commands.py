"""Every command that a page of the documentation shows can be given like that."""

from __future__ import annotations

import argparse
import io
import re
import shlex
from collections.abc import Iterator
from contextlib import redirect_stderr, redirect_stdout
from functools import cache
from importlib.util import find_spec
from pathlib import Path

import pytest

from pullcall.cli.main import COMMANDS, build_parser

ROOT = Path(__file__).parents[1]
PAGES = (*ROOT.glob("*.md"), *ROOT.glob("docs/**/*.md"), *ROOT.glob("tests/**/README.md"))
MADE = (ROOT / "Makefile").read_text(encoding="utf-8")
BENCHES = (ROOT / "tests" / "bench" / "__main__.py").read_text(encoding="utf-8")
#: What a line of code tells the program, up to a remark or another command.
_IN_CODE = re.compile(r"^ {4,}(?:\S.*[ /]|\$ )?pullcall ([a-z].*?)(?: +#.*| && .*| \|.*)?$")
#: The short name is that of docs/deployment.md.
_IN_SPAN = re.compile(r"(?:pullcall|grill) ([a-z].*)")
_SPAN = re.compile(r"`([^`]+)`")
_NAMES = {"import" if name == "bring_in" else name for name in COMMANDS}


@cache
def parser() -> argparse.ArgumentParser:
    return build_parser()


def shown(page: Path) -> Iterator[tuple[str, list[str]]]:
    """Each command of a page, and the options that its line tells after it."""
    for line in page.read_text(encoding="utf-8").splitlines():
        spans = _SPAN.findall(line)
        found = [_IN_SPAN.fullmatch(span) for span in spans] if spans else [_IN_CODE.match(line)]
        for told in (match[1] for match in found if match):
            if told.split()[0] in _NAMES:
                yield told, [span.split()[0] for span in spans if span.startswith("--")]


def trouble(told: str) -> str:
    """Why these arguments cannot be given; empty where they can. What may be left out is there,
    and "…" stands for more of the same; a name alone only names its command."""
    words = [word for word in shlex.split(re.sub(r"[][]", "", told)) if word != "…"]
    if len(words) == 1:
        return ""
    said = io.StringIO()
    try:
        with redirect_stderr(said):
            parser().parse_args(words)
    except SystemExit:
        return f"pullcall {told}: {said.getvalue().splitlines()[-1]}"
    return ""


@cache
def help_of(command: str) -> str:
    said = io.StringIO()
    with redirect_stdout(said), pytest.raises(SystemExit):
        parser().parse_args([command, "--help"])
    return said.getvalue()


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.relative_to(ROOT)))
def test_every_command_shown_can_be_given(page: Path) -> None:
    for told, options in shown(page):
        assert trouble(told) == ""
        for option in options:
            of = help_of(told.split()[0])
            assert re.search(rf"{option}\b", of), f"pullcall {told} has no {option}"


def test_commands_are_found_where_they_are_shown() -> None:
    assert ("serve --host 0.0.0.0", ["--host"]) in shown(ROOT / "README.md")
    told = [told for told, _ in shown(ROOT / "docs" / "deployment.md")]
    assert any(command.startswith("board link --config") for command in told)
    assert "report last -o /tmp/report.html" in told
    assert "unrecognized" in trouble("serve --hots 0.0.0.0")


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.relative_to(ROOT)))
def test_every_module_and_target_shown_is_there(page: Path) -> None:
    text = re.sub(r"\s*\n\s*", " ", page.read_text(encoding="utf-8"))
    for module in re.findall(r"python -m ((?:pullcall|tests)(?:\.\w+)+)", text):
        assert find_spec(module), f"python -m {module}"
    for target, bench in re.findall(r"`make (\w+)(?: BENCH=(\w+))?", text):
        assert f"\n{target}:" in MADE, f"make {target}"
        assert not bench or f'"{bench}"' in BENCHES, f"make {target} BENCH={bench}"
