"""``make soak``: a day at 20 times life with faults from a seed, and what became of it."""

from __future__ import annotations

import argparse
import asyncio
import json
import sys
import tempfile
from pathlib import Path

from pullcall.log.store import Store
from tests.soak.day import Day, Plan, live_through
from tests.soak.faults import Kind, faults
from tests.soak.samples import Sample, slope
from tests.soak.site import LOG, TAPE
from tests.soak.twin import Difference, compare_cook, read_tape

#: The first hour of the day warms up, at most a third of it.
_WARM_H = 1.0
_MB_PER_H = 1.0
#: Files and tasks come and go with pages and children; none an hour may stay.
_KEPT_PER_H = 1.0
#: More than this share of the calls put off by seconds, or changed by lost readings, is a defect.
_OTHERWISE = 0.15


def main() -> int:
    """Live through a day; 1 where something grew, was lost or cannot be explained."""
    parser = argparse.ArgumentParser(prog="python -m tests.soak", description=__doc__)
    parser.add_argument("--hours", type=float, default=6.0, help="of the day (default 6)")
    parser.add_argument("--speed", type=float, default=20.0, help="times life (default 20)")
    parser.add_argument("--seed", type=int, default=1, help="which steaks and faults (default 1)")
    parser.add_argument("--folder", type=Path, help="where log, tape and journal are kept")
    args = parser.parse_args()
    folder = args.folder or Path(tempfile.mkdtemp(prefix="soak-"))
    folder.mkdir(parents=True, exist_ok=True)
    plan = Plan(args.hours, args.speed, args.seed, folder)
    print(f"{plan.lasts_s / 60:.0f} minutes; kept in {folder}", flush=True)
    day = asyncio.run(live_through(plan, faults(plan.seed, plan.lasts_s), _print))
    found = difference(folder)
    lines = list(told(day, found, plan))
    print("\n".join(lines))
    return 0 if is_well(day, found, plan) else 1


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


def warm(day: Day, plan: Plan) -> list[Sample]:
    """What was seen after the warming up."""
    return [one for one in day.samples if one.at_h >= min(_WARM_H, plan.hours / 3.0)]


def growth(day: Day, plan: Plan) -> float:
    """Megabytes an hour of the day."""
    return slope([(one.at_h, one.mb) for one in warm(day, plan)])


def is_well(day: Day, found: Difference, plan: Plan) -> bool:
    """Whether the promises held."""
    seen = warm(day, plan)
    kept = (slope([(one.at_h, float(one.files)) for one in seen]),)
    kept += (slope([(one.at_h, float(one.tasks)) for one in seen]),)
    otherwise = found.near + found.lost_readings
    return (
        day.exit_code == 0
        and not found.unexplained
        and otherwise <= _OTHERWISE * (found.equal + otherwise)
        and growth(day, plan) < _MB_PER_H
        and max(kept) < _KEPT_PER_H
    )


def told(day: Day, found: Difference, plan: Plan) -> list[str]:
    """The figures, a line each."""
    seen = warm(day, plan)
    files, tasks = [one.files for one in seen], [one.tasks for one in seen]
    total = found.equal + found.near + found.lost_readings + len(found.unexplained)
    faults = ", ".join(f"{kind} {day.struck[kind]}" for kind in Kind if day.struck[kind])
    missed = ", ".join(f"{kind} {n}" for kind, n in day.not_struck.items())
    return [
        f"day of {plan.hours:g} h at {plan.speed:g} times life, seed {plan.seed}: "
        f"{day.cooks} cooks, {day.struck.total()} faults ({faults})",
        *([f"not possible here: {missed}"] if missed else []),
        f"memory {min(one.mb for one in seen):.0f} to {max(one.mb for one in seen):.0f} MB, "
        f"{growth(day, plan):+.2f} MB an hour of the day, "
        f"{growth(day, plan) * plan.speed:+.1f} MB a real hour",
        f"open files {min(files)} to {max(files)}, "
        f"{slope([(one.at_h, float(one.files)) for one in seen]):+.2f} an hour; tasks {min(tasks)} "
        f"to {max(tasks)}, {slope([(one.at_h, float(one.tasks)) for one in seen]):+.2f} an hour",
        f"calls: {found.equal} of {total} equal to those without faults, {found.near} within "
        f"seconds, {found.lost_readings} differ after lost or spoiled readings, "
        f"{len(found.unexplained)} otherwise",
        *found.unexplained,
        f"{day.webhooks} webhooks taken, {day.messages} messages to a page, exit {day.exit_code}",
    ]


if __name__ == "__main__":
    sys.exit(main())
