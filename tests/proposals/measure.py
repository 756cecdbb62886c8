"""Measure proposals on cooks whose marks are known: ``python -m tests.proposals.measure FOLDER``.

The marks of one kind are withheld, all others are given; what is proposed for the kind is
compared with the marks withheld.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import chain
from pathlib import Path

import numpy as np

from pullcall.core.steak import SteakState
from pullcall.events import CookHeader, Input, Mark, MarkKind, Proposal, Reading
from pullcall.log.cook_file import read_cook_file
from pullcall.proposals.watch import ProposalWatch, Withdrawn

KINDS = (MarkKind.ON, MarkKind.OFF, MarkKind.FLIP)
#: A proposal further from the mark withheld than this is misdated, seconds.
NEAR_S = 60.0


_HEAD = """\
| mark | made | proposed | off by, s | after it, s | misdated per cook | false per cook |
|---|---|---|---|---|---|---|"""


@dataclass(frozen=True, slots=True)
class Detected:
    """A mark withheld and the proposal made for it, None if there was none."""

    mark: Mark
    proposal: Proposal | None


@dataclass(frozen=True, slots=True)
class Outcome:
    """One cook with the marks of one kind withheld.

    ``misdated`` were made after a mark of the steak, but dated far from it; ``false`` before.
    """

    detected: tuple[Detected, ...]
    misdated: tuple[Proposal, ...]
    false: tuple[Proposal, ...]


def proposals(
    header: CookHeader, inputs: Iterable[Input], withheld: MarkKind | None
) -> tuple[list[Proposal | Withdrawn], list[Mark]]:
    """What is proposed, stepping each second, and the marks withheld, one for each steak."""
    steaks = {s.steak: SteakState(s, header.plan) for s in header.steaks}
    watch = ProposalWatch(steaks, header.fire.channel)
    said: list[Proposal | Withdrawn] = []
    hidden: list[Mark] = []
    tick: float | None = None
    for event in inputs:
        tick = float(int(event.t)) if tick is None else tick
        while tick < event.t:
            said += watch.step(tick, steaks, {})
            tick += 1.0
        if isinstance(event, Reading):
            watch.read(event)
            if event.steak in steaks:
                steaks[event.steak].read(event)
        elif isinstance(event, Mark) and event.mark is withheld:
            names = steaks if event.steak is None else (event.steak,)
            hidden += [Mark(event.t, name, event.mark) for name in names]
        elif isinstance(event, Mark):
            for name, steak in steaks.items():
                if event.steak in (None, name):
                    steak.mark(event)
            watch.mark(event.steak, event.mark, event.happened)
    return said, hidden


def outcome(header: CookHeader, inputs: Iterable[Input], kind: MarkKind) -> Outcome:
    """Match what is proposed with the marks withheld, each at most once."""
    said, hidden = proposals(header, inputs, kind)
    made = {p.id: p for p in reversed(said) if isinstance(p, Proposal) and p.mark is kind}
    left = sorted(made.values(), key=lambda p: p.t)
    detected = []
    for mark in hidden:
        own = [p for p in left if p.steak == mark.steak and abs(p.happened - mark.t) <= NEAR_S]
        best = min(own, key=lambda p: abs(p.happened - mark.t), default=None)
        if best is not None:
            left.remove(best)
        detected.append(Detected(mark, best))
    false = [p for p in left if not any(m.t <= p.t for m in hidden if m.steak == p.steak)]
    return Outcome(tuple(detected), tuple(p for p in left if p not in false), tuple(false))


def row(kind: MarkKind, outcomes: Sequence[Outcome]) -> str:
    """One line of the table in docs/proposals.md."""
    all_of = list(chain.from_iterable(o.detected for o in outcomes))
    found = [(d.mark, d.proposal) for d in all_of if d.proposal is not None]
    off = [abs(p.happened - m.t) for m, p in found] or [np.nan]
    late = [p.t - m.t for m, p in found] or [np.nan]
    false = sum(len(o.false) for o in outcomes) / len(outcomes)
    misdated = sum(len(o.misdated) for o in outcomes) / len(outcomes)
    return (
        f"| {kind} | {len(all_of)} | {len(found) / max(len(all_of), 1):.0%} "
        f"| {np.median(off):.0f} / {np.percentile(off, 90):.0f} "
        f"| {np.median(late):.0f} / {np.percentile(late, 90):.0f} | {misdated:.2f} | {false:.2f} |"
    )


def main(folder: Path) -> None:
    """Print the table for the even and for the odd cooks of a folder."""
    cooks = [read_cook_file(path) for path in sorted(folder.glob("cook_*.jsonl"))]
    for name, half in (("even", cooks[::2]), ("odd", cooks[1::2])):
        print(f"{name} cooks: {len(half)}")
        print(_HEAD)
        for kind in KINDS:
            print(row(kind, [outcome(c.header, c.inputs, kind) for c in half]))


if __name__ == "__main__":
    main(Path(sys.argv[1]))
