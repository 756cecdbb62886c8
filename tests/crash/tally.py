"""What a run found, as the rows of the table in docs/reliability/crash.md."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field

from tests.crash.band import Within
from tests.crash.moments import Moment


@dataclass
class Tally:
    """Counts over all lives. Times are seconds.

    ``sounded`` has, for each life that an alarm outlived, how long after the start of the process
    and after the kill before it the alarm was announced again; ``unsounded`` counts those that
    ended before that, ``silent`` those that lasted long enough and did not say it.
    """

    kills: Counter[Moment] = field(default_factory=Counter)
    defects: list[str] = field(default_factory=list)
    started: list[float] = field(default_factory=list)
    sounded: list[tuple[float, float]] = field(default_factory=list)
    unsounded: int = 0
    silent: int = 0
    torn: int = 0
    torn_starts: int = 0
    open_commits: int = 0
    confirmed: Counter[str] = field(default_factory=Counter)
    unconfirmed: int = 0
    calls: int = 0
    unheard: int = 0
    orphans: int = 0
    bands: list[tuple[str, Within, Within]] = field(default_factory=list)
    replayed: int = 0
    left: list[str] = field(default_factory=list)
    synced: tuple[int, int] | None = None

    @property
    def count(self) -> int:
        """How many kills."""
        return self.kills.total()

    def rows(self, seed: int, cooks: int) -> list[str]:
        """The table's rows: what was tried, how often, what came of it."""
        kills = ", ".join(f"{n} {moment}" for moment, n in self.kills.most_common())
        confirmed = ", ".join(f"{n} {kind}s" for kind, n in self.confirmed.most_common())
        start = [start_s for start_s, _ in self.sounded]
        since_kill = [kill_s for _, kill_s in self.sounded]
        rows = [
            (
                f"SIGKILL of a running cook: {kills}",
                f"{self.count} in {cooks} cooks, seed {seed}",
                f"{len(self.defects)} defects; lost of what was confirmed ({confirmed}): "
                f"{sum(defect.startswith('lost') for defect in self.defects)}",
            ),
            (
                "commits that a kill left half written; people's records without an answer to "
                "anybody; calls in the log that no page was told (late ones among them)",
                f"{self.open_commits}, {self.unconfirmed}, {self.unheard} of {self.calls} calls",
                "what was half written is gone, what was written is there",
            ),
            (
                "from the start of the process until it is ready",
                f"{len(self.started)} starts",
                _spread(self.started),
            ),
            (
                "a live alarm sounds again, from the start of the process",
                f"{len(start)} (in {self.unsounded} lives the next kill came first)",
                f"{_spread(start)}; not at all: {self.silent}",
            ),
            (
                "the same, from the kill",
                f"{len(since_kill)}",
                _spread(since_kill),
            ),
            (
                "the log's tail torn at a random byte, or its last page zeroed",
                f"{self.torn} copies opened, {self.torn_starts} daemons started on one",
                "every commit before the tear is there",
            ),
            (
                "answers that wait for the disk's sync, seen in the daemon's system calls",
                "without strace: not looked at"
                if self.synced is None
                else f"{self.synced[0]} marks",
                "" if self.synced is None else f"{self.synced[1]} after it",
            ),
            (
                "calls of the log replayed to the byte",
                f"{self.replayed}",
                "equal" if not any("replay" in d for d in self.defects) else "NOT EQUAL",
            ),
            (
                "processes and temporary files left behind",
                f"{self.count} kills",
                f"{self.orphans} and {len(self.left)}",
            ),
        ]
        for cook, pull, peak in self.bands:
            rows.append((f"{cook}: forecast of the pull", "", pull.words("s")))
            rows.append((f"{cook}: forecast of the peak", "", peak.words("C")))
        return [f"| {' | '.join(row)} |" for row in rows]


def _spread(seconds: Sequence[float]) -> str:
    if not seconds:
        return "none"
    ordered = sorted(seconds)
    middle, high = ordered[len(ordered) // 2], ordered[int(len(ordered) * 0.95)]
    return f"p50 {middle:.2f} s, p95 {high:.2f} s, most {ordered[-1]:.2f} s"
