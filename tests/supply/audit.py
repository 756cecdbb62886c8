"""``make audit``: known weaknesses of the pinned packages, and how many could be asked about.

A package that the index does not answer for is skipped, never counted as sound.
"""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tests.supply.pinned import DEV, RUN, pins


@dataclass(frozen=True, slots=True)
class Audit:
    """Names of packages: asked about, not answered for, and with what is known of them."""

    audited: tuple[str, ...]
    skipped: tuple[str, ...]
    weak: Mapping[str, tuple[str, ...]]


def read(report: Mapping[str, Any]) -> Audit:
    """What pip-audit found, from its JSON."""
    found = report["dependencies"]
    audited = tuple(one["name"] for one in found if "skip_reason" not in one)
    skipped = tuple(one["name"] for one in found if "skip_reason" in one)
    weak = {one["name"]: tuple(w["id"] for w in one["vulns"]) for one in found if one.get("vulns")}
    return Audit(audited, skipped, weak)


def ask(path: Path) -> Audit:
    """Ask about every package that this machine would install from ``path``."""
    command = [sys.executable, "-m", "pip_audit", "--requirement", str(path), "--require-hashes"]
    options = ["--disable-pip", "--format", "json", "--progress-spinner", "off"]
    told = subprocess.run([*command, *options], capture_output=True, text=True, check=False)
    if not told.stdout.strip():
        raise SystemExit(f"pip-audit gave no answer:\n{told.stderr[-2000:]}")
    return read(json.loads(told.stdout))


def sentence(path: Path, audit: Audit, for_others: int) -> str:
    """The figures of one file of requirements."""
    weak = "; ".join(f"{name}: {', '.join(ids)}" for name, ids in audit.weak.items())
    known = weak or ("none" if audit.audited else "nobody was asked")
    return (
        f"{path.name}: {len(audit.audited)} audited, {len(audit.skipped)} skipped (the index did "
        f"not answer for them), {for_others} for other systems not asked about; "
        f"known weaknesses: {known}"
    )


def main(paths: Sequence[Path] = (RUN, DEV)) -> int:
    """Print the figures; 1 where a weakness is known, 2 where nothing could be asked."""
    audits = []
    for path in paths:
        others = sum(not pin.is_for_here for pin in pins(path))
        audits.append(ask(path))
        print(sentence(path, audits[-1], others), flush=True)
    if any(audit.weak for audit in audits):
        return 1
    return 0 if any(audit.audited for audit in audits) else 2


if __name__ == "__main__":
    sys.exit(main())
