"""Readings made by hand, and a watch fed with them second by second."""

from __future__ import annotations

from collections.abc import Callable
from random import Random

from pullcall.core.steak import SteakState
from pullcall.events import Mark, MarkKind, PlannedMark, Proposal, Reading, SteakSettings
from pullcall.proposals.trace import Trace
from pullcall.proposals.watch import ProposalWatch, Withdrawn

Curve = Callable[[float], float]
PULL_C = 54.0


def traced(curve: Curve, end_t: float, step_s: float = 1.0, noise_c: float = 0.1) -> Trace:
    """A probe that told ``curve`` from 0 to ``end_t``, with noise, in tenths."""
    trace, rng = Trace(), Random(4)
    for k in range(round(end_t / step_s) + 1):
        t = k * step_s
        trace.add(t, round(curve(t) + rng.gauss(0.0, noise_c), 1))
    return trace


class Bench:
    """One steak, its state and a watch; everything happens in whole seconds."""

    def __init__(self, flips: tuple[float, ...] = (), grate: str | None = None) -> None:
        plan = tuple(PlannedMark(t, MarkKind.FLIP) for t in flips)
        self.steak = SteakState(SteakSettings("left", pull_c=PULL_C), plan)
        self.watch = ProposalWatch(["left"], grate)
        self.said: list[Proposal | Withdrawn] = []
        self._rng = Random(7)

    def run(self, begin: int, end: int, curve: Curve | None, noise_c: float = 0.1) -> None:
        """Readings of ``curve`` (None: silence), and a step, at each second."""
        for t in range(begin, end):
            if curve is not None:
                celsius = round(curve(float(t)) + self._rng.gauss(0.0, noise_c), 1)
                self.watch.read(Reading(float(t), "left", celsius, "left/0"))
            self.step(float(t))

    def step(self, now: float) -> list[Proposal | Withdrawn]:
        """One step."""
        said = self.watch.step(now, {"left": self.steak}, {})
        self.said += said
        return said

    def mark(self, kind: MarkKind, t: float) -> None:
        """A mark made at ``t``."""
        self.steak.mark(Mark(t, "left", kind))
        self.watch.mark("left", kind, t)

    def proposed(self, kind: MarkKind) -> list[Proposal]:
        """Everything proposed of a kind, replacements included."""
        return [p for p in self.said if isinstance(p, Proposal) and p.mark is kind]

    def withdrawn(self) -> list[str]:
        """Why proposals went away, in order."""
        return [w.why for w in self.said if isinstance(w, Withdrawn)]
