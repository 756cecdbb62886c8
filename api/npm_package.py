"""Fetches single files of a published npm package, and believes them only by their sum.

Used when the wheel is built and by tests; it needs nothing but Python and, for the fetching, npm.
"""

from __future__ import annotations

import base64
import hashlib
import shutil
import subprocess
import tarfile
import tempfile
from collections.abc import Iterable
from pathlib import Path

#: The package as it came, kept beside its files so that a later build needs no network.
_KEPT = "package.tgz"
#: Long enough for a slow line, short enough that an offline build does not seem to hang, seconds.
_DEADLINE_S = 60.0
_NPM = ("pack", "--silent", "--ignore-scripts", "--fetch-retries=0", "--fetch-timeout=20000")


class NotFetchedError(Exception):
    """The package is not here, or is not what was asked for."""


def fetch(name: str, version: str, sha512: str, files: Iterable[str], into: Path) -> None:
    """Lay ``files`` (paths inside the package) flat into the folder ``into``.

    ``sha512`` is the sum of the whole package in base64, as ``npm view NAME@VERSION
    dist.integrity`` prints it behind "sha512-". A package with another sum, kept from before or
    just come, is thrown away with all its files. Raises NotFetchedError.
    """
    kept = into / _KEPT
    if not (kept.is_file() and _sum(kept) == sha512):
        shutil.rmtree(into, ignore_errors=True)
        into.mkdir(parents=True)
        _pack(f"{name}@{version}", kept)
    if _sum(kept) != sha512:
        shutil.rmtree(into)
        raise NotFetchedError(
            f"{name}@{version} was thrown away: its sum is not the one written down. Try another "
            "network, or look at the package before writing down a new sum."
        )
    _unpack(kept, files, into)


def _sum(package: Path) -> str:
    return base64.b64encode(hashlib.sha512(package.read_bytes()).digest()).decode()


def _pack(wanted: str, to: Path) -> None:
    npm = shutil.which("npm")
    if npm is None:
        raise NotFetchedError(f"{wanted} was not fetched: npm is missing (Debian: apt install npm)")
    with tempfile.TemporaryDirectory() as folder:
        command = [npm, *_NPM, wanted]
        try:
            subprocess.run(
                command, cwd=folder, check=True, capture_output=True, timeout=_DEADLINE_S
            )
        except (subprocess.SubprocessError, OSError) as exc:
            raise NotFetchedError(f"{wanted} was not fetched: is this machine offline?") from exc
        came = next(Path(folder).glob("*.tgz"), None)
        if came is None:
            raise NotFetchedError(f"{wanted} was not fetched: npm left no package")
        shutil.move(came, to)


def _unpack(package: Path, files: Iterable[str], into: Path) -> None:
    with tarfile.open(package) as tar:
        for file in files:
            try:
                member = tar.extractfile(f"package/{file}")
            except KeyError as exc:
                raise NotFetchedError(f"{file} is not in {package}") from exc
            if member is None:
                raise NotFetchedError(f"{file} in {package} is no file")
            part = into / f"{Path(file).name}.part"
            part.write_bytes(member.read())
            part.replace(into / Path(file).name)  # whoever serves it reads it whole
