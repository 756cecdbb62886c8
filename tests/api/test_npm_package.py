"""Files of an npm package are believed by its sum only; npm is played by a script."""

from __future__ import annotations

import base64
import gzip
import hashlib
import io
import os
import tarfile
from pathlib import Path

import pytest

from npm_package import NotFetchedError, fetch

FILES = ("dist/chart.min.js", "LICENSE")


def _package(text: str = "chart()") -> bytes:
    buffer = io.BytesIO()
    with tarfile.open(fileobj=buffer, mode="w") as tar:
        for name, content in (("dist/chart.min.js", text), ("LICENSE", "MIT"), ("README.md", "")):
            member = tarfile.TarInfo(f"package/{name}")
            member.size = len(content)
            tar.addfile(member, io.BytesIO(content.encode()))
    return gzip.compress(buffer.getvalue(), mtime=0)  # the same bytes each time


def _sum(package: bytes) -> str:
    return base64.b64encode(hashlib.sha512(package).digest()).decode()


class Npm:
    """A program named npm that leaves a package, counts its runs, or fails."""

    def __init__(self, folder: Path) -> None:
        self.runs = folder / "runs"
        self.package = folder / "there.tgz"
        program = folder / "npm"
        program.write_text(
            f'#!/bin/sh\necho "$@" >> {self.runs}\ncp {self.package} chart-1.0.0.tgz\n'
        )
        program.chmod(0o755)

    def count(self) -> int:
        return len(self.runs.read_text().splitlines()) if self.runs.exists() else 0


@pytest.fixture
def npm(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Npm:
    folder = tmp_path / "bin"
    folder.mkdir()
    monkeypatch.setenv("PATH", f"{folder}:{os.environ['PATH']}")
    return Npm(folder)


def test_the_files_asked_for_are_laid_out_flat(npm: Npm, tmp_path: Path) -> None:
    npm.package.write_bytes(_package())
    fetch("chart", "1.0.0", _sum(_package()), FILES, tmp_path / "into")
    assert "chart@1.0.0" in npm.runs.read_text()
    assert (tmp_path / "into/chart.min.js").read_text() == "chart()"
    assert (tmp_path / "into/LICENSE").read_text() == "MIT"
    assert not (tmp_path / "into/README.md").exists()


def test_a_package_with_a_wrong_sum_is_thrown_away(npm: Npm, tmp_path: Path) -> None:
    npm.package.write_bytes(_package("chart(); steal()"))
    with pytest.raises(NotFetchedError, match=r"chart@1.0.0 was thrown away"):
        fetch("chart", "1.0.0", _sum(_package()), FILES, tmp_path / "into")
    assert not (tmp_path / "into").exists()


def test_a_kept_package_needs_no_npm_and_is_summed_again(npm: Npm, tmp_path: Path) -> None:
    npm.package.write_bytes(_package())
    into = tmp_path / "into"
    for _ in range(2):
        fetch("chart", "1.0.0", _sum(_package()), FILES, into)
    assert npm.count() == 1
    (into / "package.tgz").write_bytes(_package("chart(); steal()"))
    fetch("chart", "1.0.0", _sum(_package()), FILES, into)
    assert npm.count() == 2
    assert (into / "chart.min.js").read_text() == "chart()"


def test_a_new_version_leaves_nothing_of_the_old_one(npm: Npm, tmp_path: Path) -> None:
    npm.package.write_bytes(_package())
    into = tmp_path / "into"
    fetch("chart", "1.0.0", _sum(_package()), FILES, into)
    npm.package.unlink()  # npm finds nothing now, as when offline
    with pytest.raises(NotFetchedError, match="offline"):
        fetch("chart", "2.0.0", _sum(_package("chart2()")), FILES, into)
    assert list(into.iterdir()) == []


def test_without_npm_it_says_how_to_get_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PATH", str(tmp_path))
    with pytest.raises(NotFetchedError, match="npm is missing"):
        fetch("chart", "1.0.0", "sum", FILES, tmp_path / "into")


def test_a_file_that_the_package_lacks_is_named(npm: Npm, tmp_path: Path) -> None:
    npm.package.write_bytes(_package())
    with pytest.raises(NotFetchedError, match=r"chart.css is not in"):
        fetch("chart", "1.0.0", _sum(_package()), ("dist/chart.css",), tmp_path / "into")
