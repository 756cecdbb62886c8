"""Debian programs that some tests drive: skipped where missing, unless REQUIRE_TOOLS=1."""

from __future__ import annotations

import os
import shutil
from collections.abc import Sequence
from pathlib import Path
from typing import NoReturn

import pytest

from npm_package import NotFetchedError, fetch


def require_tool(program: str, package: str) -> str:
    """Return the path of ``program``, or skip (REQUIRE_TOOLS=1: fail) saying how to get it."""
    path = shutil.which(program, path=os.environ.get("PATH", "") + ":/usr/sbin:/sbin")
    if path is None:
        lacking(f"{program} is missing; install it with: apt install {package}")
    return path


def lacking(reason: str) -> NoReturn:
    """Skip the test, or with REQUIRE_TOOLS=1 fail it, for what this machine lacks."""
    if os.environ.get("REQUIRE_TOOLS") == "1":
        pytest.fail(reason)
    pytest.skip(reason)


def require_package(name: str, version: str, sha512: str, files: Sequence[str], into: Path) -> None:
    """Have these files of an npm package in a folder, fetched if need be, or skip (or fail)."""
    if all((into / Path(file).name).is_file() for file in files):
        return
    require_tool("npm", "npm")
    try:
        fetch(name, version, sha512, files, into)
    except NotFetchedError as exc:
        lacking(str(exc))
