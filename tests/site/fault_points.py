"""Lets the k-th write of a short cook fail, for every k, and says what became of the cook.

``PYTHONPATH=daemon:api:simulators:. python -m tests.site.fault_points FOLDER`` goes through every
fault point, in a folder that is emptied, and prints a line of JSON for each kind of fault; a number
after the folder: through every so-manieth.
"""

from __future__ import annotations

import asyncio
import errno
import json
import logging
import os
import shutil
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path

from pullcall.errors import LogError
from pullcall.log.live_store import LiveStore
from pullcall.simulators.disk.failing_disk import FOR_EVER, FailingDisk, Kind, build, environment
from pullcall.site import ledger
from pullcall.site.ledger import Ledger
from pullcall.site.live import Site
from pullcall.site.refuge import Safe
from tests.site.short_cook import START, Lived, ShortCook

#: A failing disk is tried again at once: nobody waits for a real one here.
ledger._RETRY_S = 0.002
_ENDS = ("", "-wal", ".spill")


@dataclass(frozen=True, slots=True)
class Fault:
    """``count`` operations of these kinds fail with ``code`` from number ``first`` on; the room
    that was reserved may be ``spared``, as it is on a full disk."""

    name: str
    kinds: int
    code: int
    count: int
    spared: bool

    def sparing(self) -> str:
        """The end of the names that are spared."""
        return ".spill" if self.spared else ""


_W, _S = int(Kind.WRITES), int(Kind.SYNCS)
FAULTS = (
    Fault("disk full, one write", _W, errno.ENOSPC, 1, True),
    Fault("disk full, from then on", _W, errno.ENOSPC, FOR_EVER, True),
    Fault("disk full, from then on, nothing reserved", _W, errno.ENOSPC, FOR_EVER, False),
    Fault("I/O error, one write", _W, errno.EIO, 1, False),
    Fault("I/O error, eight writes", _W, errno.EIO, 8, False),
    Fault("I/O error, every write from then on", _W, errno.EIO, FOR_EVER, False),
    Fault("I/O error, one sync", _S, errno.EIO, 1, False),
    Fault("I/O error, every sync from then on", _S, errno.EIO, FOR_EVER, False),
    Fault("I/O error, both from then on", _W | _S, errno.EIO, FOR_EVER, False),
)


@dataclass
class Outcome:
    """What one fault point left; empty lists are good."""

    fault: str
    first: int
    lived: Lived
    lost: list[str]
    kills: int


def undisturbed(folder: Path, kinds: int) -> tuple[Lived, int]:
    """The cook without a fault, and how many operations could have failed."""
    disk = FailingDisk(folder)
    disk.fail(Kind(kinds), errno.EIO, FOR_EVER)
    lived = asyncio.run(ShortCook(folder / "cooks.db").run(lambda: None))
    return lived, disk.seen


def disturbed(folder: Path, fault: Fault, first: int) -> Outcome:
    """The cook with its fault from operation ``first`` on."""
    disk = FailingDisk(folder, fault.sparing())
    lost: list[str] = []
    kills = [0]

    def killed(site: Site) -> None:
        """What a start would find if the process were killed here."""
        said = site.measures.ledger.trouble
        if not said or Safe.NOWHERE.value in said or kills[0] >= 2:
            return  # all is in the log; or it was said that a crash would lose it
        kills[0] += 1
        lost.extend(_not_found(folder, cook.lived.answered))

    cook = ShortCook(folder / "cooks.db", killed)
    disk.fail(Kind(fault.kinds), fault.code, first, fault.count)
    lived = asyncio.run(cook.run(disk.heal))
    return Outcome(fault.name, first, lived, lost, kills[0])


def _not_found(folder: Path, answered: list[str]) -> list[str]:
    with tempfile.TemporaryDirectory() as elsewhere:
        copy = Path(elsewhere) / "cooks.db"
        for end in _ENDS:
            if (there := Path(f"{folder / 'cooks.db'}{end}")).exists():
                shutil.copyfile(there, f"{copy}{end}")
        _copy_memory(folder / "cooks.db", copy)
        with LiveStore(copy, START) as store:
            log = Ledger(store, lambda trouble: None)
            try:
                known = {line for cook in store.cooks() for line in store.lines(cook.id)}
            finally:
                log.close()
    return [line for line in answered if line not in known]


def _copy_memory(log: Path, copy: Path) -> None:
    """The spill file in memory belongs to a log by its name."""
    from pullcall.log.spill import spill_in_memory

    before, after = spill_in_memory(log), spill_in_memory(copy)
    if before is not None and after is not None and before.exists():
        shutil.copyfile(before, after)


def sweep(folder: Path, fault: Fault, strides: int) -> tuple[Lived, list[Outcome]]:
    """The undisturbed cook, and those with the fault at every ``strides``-th point."""
    clean, points = undisturbed(_fresh(folder), fault.kinds)
    found = [disturbed(_fresh(folder), fault, k) for k in range(0, points, strides)]
    return clean, found


def _fresh(folder: Path) -> Path:
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    return folder


def told(clean: Lived, outcome: Outcome) -> list[str]:
    """What is wrong with an outcome, in words."""
    lived = outcome.lived
    wrong = [f"lost {line}" for line in outcome.lost]
    if lived.calls != clean.calls:
        wrong.append("the calls differ")
    if lived.answered != clean.answered:
        wrong.append("the answers differ")
    if lived.records != clean.records:
        wrong.append("the records differ")
    if lived.call_lines != clean.call_lines:
        wrong.append("the logged calls differ")
    return wrong


def main(folder: Path, strides: int) -> int:
    """Print a line of JSON for each fault."""
    logging.disable(logging.CRITICAL)
    is_well = True
    for fault in FAULTS:
        try:
            clean, outcomes = sweep(folder / "state", fault, strides)
        except LogError as exc:
            print(json.dumps({"fault": fault.name, "failed": str(exc)}), flush=True)
            return 1
        wrong = {str(one.first): said for one in outcomes if (said := told(clean, one))}
        line = {
            "fault": fault.name,
            "points": len(outcomes),
            "in_trouble": sum(bool(one.lived.banners) for one in outcomes),
            "kills": sum(one.kills for one in outcomes),
            "banners": sorted({_short(b) for one in outcomes for b in one.lived.banners}),
            "wrong": wrong,
        }
        is_well = is_well and not wrong
        print(json.dumps(line), flush=True)
    return 0 if is_well else 1


def _short(banner: str) -> str:
    """The sentence on where what waits lies."""
    return banner.rpartition(". ")[2] if ". " in banner else banner


def again_with_such_a_disk(arguments: list[str]) -> int:
    """Begin this module once more, in a process whose disk fails when it is told to."""
    with tempfile.TemporaryDirectory() as folder:
        library = build("gcc", Path(folder))
        memory = Path(folder) / "memory"
        memory.mkdir()
        own = {**environment(library), "RUNTIME_DIRECTORY": str(memory)}
        command = [sys.executable, "-m", "tests.site.fault_points", *arguments]
        return subprocess.run(command, env=own, check=False).returncode


if __name__ == "__main__":
    if "failing_disk" not in os.environ.get("LD_PRELOAD", ""):
        sys.exit(again_with_such_a_disk(sys.argv[1:]))
    sys.exit(main(Path(sys.argv[1]), int(sys.argv[2]) if len(sys.argv) > 2 else 1))
