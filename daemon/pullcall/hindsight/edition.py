"""Which edition of the code works cooks out: another one may find something else."""

from __future__ import annotations

import hashlib
from functools import cache
from pathlib import Path

import numpy as np

_HERE = Path(__file__).parent.parent
#: What a cook is worked out with: everything that facts or a recording depend on.
PARTS = (
    "degrees.py",
    "events.py",
    "core",
    "forecast",
    "calls",
    "plan",
    "proposals",
    "fire",
    "log/cook_file.py",
    "log/header.py",
    "log/records.py",
    "log/fields.py",
    "log/omissions.py",
    "log/workable.py",
    "log/call_records.py",
    "hindsight",
    "site/view.py",
    "site/records.py",
    "site/hub.py",
    "site/recording.py",
    "site/thinning.py",
)


@cache
def edition() -> str:
    """A digest of the source files, worked out once."""
    digest = hashlib.sha256(np.__version__.encode())
    for part in PARTS:
        path = _HERE / part
        for file in sorted(path.glob("*.py")) if path.is_dir() else [path]:
            digest.update(file.name.encode() + b"\0" + file.read_bytes() + b"\0")
    return digest.hexdigest()
