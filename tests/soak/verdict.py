"""What became of a day: its figures, and what is a defect."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from tests.soak.day import Day, Plan
from tests.soak.faults import Kind
from tests.soak.samples import Sample, slope
from tests.soak.twin import Difference

#: So much of the day warms up, hours; of a day that is not this much longer growth says nothing.
_WARM_H, _LEAST_H = 1.0, 3.0
_MB_PER_H = 1.0
#: Files and tasks come and go with pages and children; none an hour may stay.
_KEPT_PER_H = 1.0
#: More than this share of the calls put off by seconds, or changed by lost readings, is a defect.
_OTHERWISE = 0.15


class Verdict:
    """Judges one day."""

    def __init__(self, day: Day, found: Difference, plan: Plan) -> None:
        self._day, self._found, self._plan = day, found, plan
        warm_h = min(_WARM_H, plan.hours / 3.0)
        self._seen = [one for one in day.samples if one.at_h >= warm_h]
        self._mb = self._growth(lambda one: one.mb)
        self._files = self._growth(lambda one: one.files)
        self._tasks = self._growth(lambda one: one.tasks)

    def defects(self) -> Iterator[str]:
        """What did not hold, a sentence each."""
        found = self._found
        otherwise = found.near + found.lost_readings
        if self._day.exit_code != 0:
            yield f"the site ended with {self._day.exit_code}"
        if found.unexplained:
            yield f"{len(found.unexplained)} calls differ and no lost reading explains it"
        if otherwise > _OTHERWISE * (found.equal + otherwise):
            yield f"{otherwise} calls were put off or changed, more than {_OTHERWISE:.0%}"
        if self._plan.hours < _LEAST_H:
            return  # too short a day to tell growth from warming up
        if self._mb >= _MB_PER_H:
            yield f"memory grows by {self._mb:.2f} MB an hour of the day"
        if max(self._files, self._tasks) >= _KEPT_PER_H:
            yield f"{self._files:.2f} files and {self._tasks:.2f} tasks an hour stay"

    def figures(self) -> Iterator[str]:
        """The figures, a line each."""
        day, found, plan = self._day, self._found, self._plan
        total = found.equal + found.near + found.lost_readings + len(found.unexplained)
        struck = ", ".join(f"{kind} {day.struck[kind]}" for kind in Kind if day.struck[kind])
        yield (
            f"day of {plan.hours:g} h at {plan.speed:g} times life, seed {plan.seed}; cooks: "
            f"{day.cooks}; faults: {day.struck.total()} ({struck})"
        )
        if day.not_struck:
            missed = ", ".join(f"{kind} {n}" for kind, n in day.not_struck.items())
            yield f"not possible here: {missed}"
        yield (
            f"memory {self._range(lambda one: one.mb)} MB, {self._mb:+.2f} MB an hour of the day, "
            f"{self._mb * plan.speed:+.1f} MB a real hour"
        )
        yield (
            f"open files {self._range(lambda one: one.files)}, {self._files:+.2f} an hour; tasks "
            f"{self._range(lambda one: one.tasks)}, {self._tasks:+.2f} an hour"
        )
        yield (
            f"calls: {found.equal} of {total} equal to those without faults, {found.near} within "
            f"seconds, {found.lost_readings} differ after lost or spoiled readings, "
            f"{len(found.unexplained)} otherwise"
        )
        yield from found.unexplained
        yield f"webhooks taken: {day.webhooks}; messages to a page: {day.messages}"

    def _growth(self, of: Callable[[Sample], float]) -> float:
        return slope([(one.at_h, float(of(one))) for one in self._seen])

    def _range(self, of: Callable[[Sample], float]) -> str:
        values = [of(one) for one in self._seen] or [0.0]
        return f"{min(values):.0f} to {max(values):.0f}"
