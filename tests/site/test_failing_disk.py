"""A real site on a disk that fails, is full, read only or hangs: calls go on, nothing is lost.

A library between the process and the C library lets system calls fail, below SQLite and below
Python: both see what they would see of a disk, and no root is needed for it.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from pullcall.simulators.disk.failing_disk import build, environment
from tests.tools import require_tool

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def library(tmp_path_factory: pytest.TempPathFactory) -> Path:
    compiler = require_tool("gcc", "gcc libc6-dev")
    return build(compiler, tmp_path_factory.mktemp("library"))


def on_such_a_disk(library: Path, folder: Path, *module: str) -> subprocess.CompletedProcess[str]:
    """Run a module with the log's folder and one in memory of its own."""
    (folder / "memory").mkdir()
    (folder / "state").mkdir()
    roots = os.pathsep.join(str(ROOT / name) for name in ("daemon", "api", "simulators", ""))
    own = {"PYTHONPATH": roots, "RUNTIME_DIRECTORY": str(folder / "memory")}
    command = [sys.executable, "-m", *module]
    return subprocess.run(
        command,
        env={**environment(library), **own},
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=240,
        check=False,
    )


@pytest.mark.parametrize(
    "trial",
    [
        "becomes_read_only",
        "is_read_only_at_the_start",
        "never_could_be_written",
        "hangs",
        "is_left_to_threads",
        "leaves_the_certificate_to_threads",
    ],
)
def test_a_disk_that(trial: str, library: Path, tmp_path: Path) -> None:
    state = str(tmp_path / "state")
    done = on_such_a_disk(library, tmp_path, "tests.site.disk_trials", trial, state)
    assert done.returncode == 0, done.stderr[-3000:]


def test_whichever_write_or_sync_fails_the_cook_goes_on_and_is_logged_whole(
    library: Path, tmp_path: Path
) -> None:
    """A few of the points; ``python -m tests.site.fault_points`` goes through every one."""
    state = str(tmp_path / "state" / "sweep")
    done = on_such_a_disk(library, tmp_path, "tests.site.fault_points", state, "61")
    lines = [json.loads(line) for line in done.stdout.splitlines()]
    assert len(lines) == 9, done.stderr[-3000:]
    assert {line["fault"]: line["wrong"] for line in lines if line["wrong"]} == {}
    assert sum(line["in_trouble"] for line in lines) >= len(lines)
    assert sum(line["kills"] for line in lines) >= len(lines)
