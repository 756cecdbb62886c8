"""Debian programs that some tests drive: skipped where missing, unless REQUIRE_TOOLS=1."""

from __future__ import annotations

import os
import shutil
from typing import NoReturn

import pytest


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
