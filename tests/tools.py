"""Debian programs that some tests drive: skipped where missing, unless REQUIRE_TOOLS=1."""

from __future__ import annotations

import os
import shutil

import pytest


def require_tool(program: str, package: str) -> str:
    """Return the path of ``program``, or skip (REQUIRE_TOOLS=1: fail) saying how to get it."""
    path = shutil.which(program, path=os.environ.get("PATH", "") + ":/usr/sbin:/sbin")
    if path:
        return path
    reason = f"{program} is missing; install it with: apt install {package}"
    if os.environ.get("REQUIRE_TOOLS") == "1":
        pytest.fail(reason)
    pytest.skip(reason)
