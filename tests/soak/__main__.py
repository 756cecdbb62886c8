"""``make soak``: a day at 20 times life with faults from a seed, and what became of it."""

from __future__ import annotations

import argparse
import asyncio
import json
import sys
import tempfile
from pathlib import Path

from pullcall.log.store import Store
from tests.soak.day import Plan, live_through
from tests.soak.faults import faults
from tests.soak.site import LOG, TAPE
from tests.soak.twin import Difference, compare_cook, read_tape
from tests.soak.verdict import Verdict


def main() -> int:
    """Live through a day; 1 where something grew, was lost or cannot be explained."""
    exits = "Ends with 0 where every promise held, else with 1, naming which did not."
    parser = argparse.ArgumentParser("python -m tests.soak", description=__doc__, epilog=exits)
    parser.add_argument("--hours", type=float, default=6.0, help="of the day (default 6)")
    parser.add_argument("--speed", type=float, default=20.0, help="times life (default 20)")
    parser.add_argument("--seed", type=int, default=1, help="which steaks and faults (default 1)")
    parser.add_argument("--folder", type=Path, help="where log, tape and journal are kept")
    args = parser.parse_args()
    folder = args.folder or Path(tempfile.mkdtemp(prefix="soak-"))
    folder.mkdir(parents=True, exist_ok=True)
    plan = Plan(args.hours, args.speed, args.seed, folder)
    print(f"Lasts {plan.lasts_s / 60:.1f} min; kept in {folder}", flush=True)
    day = asyncio.run(live_through(plan, faults(plan.seed, plan.lasts_s), _print))
    print("Comparing the calls with those of the same day without faults ...", flush=True)
    verdict = Verdict(day, difference(folder), plan)
    print("\n".join(verdict.figures()))
    defects = list(verdict.defects())
    print("\n".join(f"DEFECT: {one}" for one in defects) or "Every promise held.")
    return 1 if defects else 0


def _print(line: str) -> None:
    print(line, flush=True)


def difference(folder: Path) -> Difference:
    """How the calls of all cooks of the day differ from those without faults."""
    found, tape = Difference(), read_tape(folder / TAPE)
    with Store(folder / LOG, reads_only=True) as store:
        for entry in store.cooks():
            said = [json.loads(line) for line in store.call_lines(entry.id)]
            found += compare_cook(store.cook(entry.id), said, tape, entry.zero_monotonic)
    return found


if __name__ == "__main__":
    sys.exit(main())
