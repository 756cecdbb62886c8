"""What ``config/requirements.txt`` pins: names, versions, hashes, and for which systems."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).parents[2]
RUN = ROOT / "config" / "requirements.txt"
DEV = ROOT / "config" / "requirements-dev.txt"
_HASH = re.compile(r"--hash=(\S+)")


@dataclass(frozen=True, slots=True)
class Pin:
    """One version of one package, and the sums its files may have ("sha256:…")."""

    requirement: Requirement
    hashes: tuple[str, ...]

    @property
    def name(self) -> str:
        """The package's name as indexes spell it."""
        return canonicalize_name(self.requirement.name)

    @property
    def is_for_here(self) -> bool:
        """Whether this machine would install it."""
        marker = self.requirement.marker
        return marker is None or marker.evaluate()


def pins(path: Path = RUN) -> tuple[Pin, ...]:
    """Every pin of a file of requirements, in its order."""
    text = re.sub(r"\\\n\s*", "", path.read_text(encoding="utf-8"))
    lines = [line for line in text.splitlines() if line and not line.lstrip().startswith("#")]
    return tuple(
        Pin(Requirement(line.split("--hash")[0].strip()), tuple(_HASH.findall(line)))
        for line in lines
    )


def wanted() -> tuple[str, ...]:
    """The packages that Pullcall itself asks for, extras aside."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    return names(project["dependencies"])


def names(requirements: Sequence[str]) -> tuple[str, ...]:
    """The names of such requirements as indexes spell them."""
    return tuple(canonicalize_name(Requirement(text).name) for text in requirements)
