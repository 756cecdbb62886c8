"""The log's files as they are at a moment, copied, and what has to hold of them."""

from __future__ import annotations

import json
import shutil
import sqlite3
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from pullcall.log.cook_file import parse_cook_lines
from pullcall.log.store import Store
from tests.crash.feed import Sent, channel


def copy_log(log: Path, into: Path) -> Path:
    """The database and its write-ahead log as they are now, without the shared index."""
    into.mkdir(parents=True, exist_ok=True)
    for suffix in ("", "-wal"):
        source, target = Path(f"{log}{suffix}"), into / f"{log.name}{suffix}"
        target.unlink(missing_ok=True)
        if source.exists():
            shutil.copyfile(source, target)
    return into / log.name


@dataclass(frozen=True, slots=True)
class LogImage:
    """What a copy of the log holds. ``open`` are the cooks that have not ended."""

    faults: tuple[str, ...]
    open: tuple[str, ...]
    lines: dict[str, list[str]]
    calls: dict[str, list[str]]
    choices: dict[str, float | None]
    zeros: dict[str, float]

    def broken(self, cook: str) -> list[str]:
        """What cannot be read, or goes back in time."""
        lines, calls = self.lines[cook], self.calls[cook]
        found = [str(line) for line in parse_cook_lines(lines).broken]
        times = [r["t"] for r in map(json.loads, lines[1:]) if "t" in r]
        if times != sorted(times):
            found.append("the times of the records go back")
        said = [json.loads(line) for line in calls]
        if [c["t"] for c in said] != sorted(c["t"] for c in said):
            found.append("the times of the calls go back")
        if len({(c["id"], c["t"]) for c in said}) < len(said):
            found.append("a call stands twice in the log")
        return found

    def not_kept(self, before: LogImage) -> list[str]:
        """What stood in an earlier image and does not stand here, line for line."""
        return [
            f"the log of {cook} was changed: only ever adding is allowed"
            for cook in before.lines
            for was, now in (
                (before.lines[cook], self.lines.get(cook, [])),
                (before.calls[cook], self.calls.get(cook, [])),
            )
            if now[: len(was)] != was
        ]

    def invented(self, cook: str, sent: Iterable[Sent]) -> list[str]:
        """Readings that no probe sent, or not in that order."""
        by_channel: dict[str, list[float]] = {}
        for one in sent:
            by_channel.setdefault(channel(one.device), []).append(one.celsius)
        left = {name: iter(values) for name, values in by_channel.items()}
        records = (json.loads(line) for line in self.lines[cook][1:])
        return [
            f"nobody sent {r['celsius']} of {r['channel']} at {r['t']}"
            for r in records
            if r["record"] == "reading" and r["celsius"] not in left.get(r["channel"], iter(()))
        ]


def read_image(log: Path) -> LogImage:
    """Open a copy as the daemon would, and read it whole."""
    with Store(log) as store:
        cooks = store.cooks()
        found = {
            "open": tuple(entry.id for entry in cooks if entry.ended is None),
            "lines": {entry.id: store.lines(entry.id) for entry in cooks},
            "calls": {entry.id: store.call_lines(entry.id) for entry in cooks},
            "choices": {one.name: one.value for one in store.choices()},
            "zeros": {entry.id: entry.zero_monotonic for entry in cooks},
        }
    return LogImage(faults=tuple(_faults(log)), **found)  # type: ignore[arg-type]


def _faults(log: Path) -> Sequence[str]:
    """What SQLite itself finds wrong with the file."""
    db = sqlite3.connect(log)
    try:
        said = [row[0] for row in db.execute("PRAGMA integrity_check")]
        foreign = db.execute("PRAGMA foreign_key_check").fetchall()
    finally:
        db.close()
    return [*(line for line in said if line != "ok"), *(f"foreign key: {row}" for row in foreign)]
