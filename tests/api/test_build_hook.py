"""What a build does with the chart library, with and without it at hand."""

from __future__ import annotations

import subprocess
import sys
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

import build_hook
from build_hook import CarryChartLibrary
from npm_package import NotFetchedError
from tests.chart_library import ROOT, require_chart_library


class Log:
    """Where hatchling writes what a build says."""

    def __init__(self) -> None:
        self.warnings: list[str] = []

    def display_warning(self, message: str = "") -> None:
        self.warnings.append(message)


def _run(version: str, root: Path) -> tuple[dict[str, str], list[str]]:
    log = Log()
    given: Any = {"force_include": {}}
    hook = CarryChartLibrary(str(root), {}, None, None, str(root), "wheel", log)  # type: ignore[arg-type]
    hook.initialize(version, given)
    return given["force_include"], log.warnings


def _lays(name: str, version: str, sha512: str, files: tuple[str, ...], into: Path) -> None:
    into.mkdir(parents=True)
    for file in files:
        (into / Path(file).name).write_text(file)


@pytest.fixture
def at_hand(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    monkeypatch.setattr(build_hook, "fetch", _lays)
    yield


@pytest.mark.usefixtures("at_hand")
def test_a_wheel_carries_the_script_its_sheet_and_its_licence(tmp_path: Path) -> None:
    carried, warnings = _run("standard", tmp_path)
    assert warnings == []
    assert {Path(name).name for name in carried} == {
        "uPlot.iife.min.js", "uPlot.min.css", "LICENSE",
    }  # fmt: skip
    assert all(Path(name).is_file() for name in carried)
    assert all(to.startswith("pullcall/api/page/vendor/uplot/") for to in carried.values())


@pytest.mark.usefixtures("at_hand")
def test_an_editable_install_is_served_from_the_checkout(tmp_path: Path) -> None:
    carried, _ = _run("editable", tmp_path)
    assert carried == {}
    assert (tmp_path / "build/vendor/uplot/LICENSE").is_file()


def test_a_build_goes_on_without_the_library_and_says_so(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuses(*_: object) -> None:
        raise NotFetchedError("npm is missing.")

    monkeypatch.setattr(build_hook, "fetch", refuses)
    carried, warnings = _run("standard", tmp_path)
    assert carried == {}
    assert warnings == ["npm is missing. The page will draw its curves without uplot."]


@pytest.mark.integration
def test_the_library_is_in_a_wheel_that_is_really_built(tmp_path: Path) -> None:
    require_chart_library()
    build = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(tmp_path)]
    subprocess.run(build, cwd=ROOT, check=True, capture_output=True)
    with zipfile.ZipFile(next(tmp_path.glob("*.whl"))) as wheel:
        folder = "pullcall/api/page/vendor/uplot/"
        inside = {name.removeprefix(folder) for name in wheel.namelist() if folder in name}
        assert inside == {"uPlot.iife.min.js", "uPlot.min.css", "LICENSE"}
        assert "pullcall/api/page/index.html" in wheel.namelist()
        assert b"Permission is hereby granted" in wheel.read(f"{folder}LICENSE")
        assert wheel.read(f"{folder}uPlot.iife.min.js").startswith(b"/*! https://")
