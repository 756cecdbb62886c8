"""``python -m tests.fuzz.unguided TARGET SECONDS FOLDER``: the attack without atheris.

Takes and prints what :mod:`tests.fuzz.guided` does, without coverage.
"""

from __future__ import annotations

import logging
import sys
import time
import warnings
from pathlib import Path

from hypothesis import HealthCheck, Phase, given, settings

from tests.fuzz.findings import Findings
from tests.fuzz.made_up import inputs
from tests.fuzz.target import load

_AT_ONCE = 500


def main(name: str, seconds: float, folder: Path) -> None:
    """Attack until the time is over."""
    logging.disable(logging.CRITICAL)
    warnings.simplefilter("ignore")
    target, found = load(name), folder / "findings"
    found.mkdir(parents=True, exist_ok=True)
    check = Findings(found).guard(target.check)
    runs = 0

    @settings(
        max_examples=_AT_ONCE,
        database=None,
        deadline=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(inputs(name, target))
    def some(data: bytes) -> None:
        nonlocal runs
        runs += 1
        check(data)

    end = time.monotonic() + seconds
    while time.monotonic() < end:
        some()
    print(f"stat::number_of_executed_units: {runs}", file=sys.stderr)


if __name__ == "__main__":
    main(sys.argv[1], float(sys.argv[2]), Path(sys.argv[3]))
