"""Where inputs and calls wait, safe from a crash, while the log cannot take them."""

from __future__ import annotations

import logging
import os
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

from pullcall.log.entries import Entry, Place
from pullcall.log.spill_file import SpillFile
from pullcall.log.spill_lines import SpilledPart

logger = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Left:
    """Entries that an earlier run left, in order, from the number ``first`` of ``spill`` on;
    ``after`` is how far the log had come before them."""

    spill: str
    first: int
    after: Place
    entries: tuple[Entry, ...]


def spill_beside(log: Path) -> Path:
    """The spill file on the log's own disk."""
    return log.with_name(f"{log.name}.spill")


def spill_in_memory(log: Path) -> Path | None:
    """The spill file in this machine's memory: it outlives the process, not a loss of power. None
    where neither the service manager nor the session gave a folder for such files."""
    for name in ("RUNTIME_DIRECTORY", "XDG_RUNTIME_DIR"):
        folder = os.environ.get(name, "").split(":")[0]
        if folder and os.access(folder, os.W_OK):
            key = sha256(os.fsencode(log.absolute())).hexdigest()[:16]
            return Path(folder) / f"pullcall-{key}.spill"
    return None


class Spill:
    """The files of one log: ``disk`` lies beside it, ``memory`` may be missing."""

    def __init__(self, log: Path) -> None:
        self.disk = SpillFile(spill_beside(log))
        in_memory = spill_in_memory(log)
        self.memory = None if in_memory is None else SpillFile(in_memory)

    @property
    def files(self) -> tuple[SpillFile, ...]:
        """Those that there are."""
        return (self.disk,) if self.memory is None else (self.disk, self.memory)

    def left(self) -> list[Left]:
        """What earlier runs left. One that cannot be read now is named and stays."""
        found = [(file, part) for file in self.files if (part := _read(file)) is not None]
        for file, part in found:
            file.go_on(part)
        return joined([part for _, part in found])

    def reserve(self) -> None:
        """Make room on the log's disk; without it a full disk leaves only memory."""
        try:
            self.disk.reserve()
        except OSError as exc:
            logger.warning("No room could be kept for a full disk (%s).", exc.strerror)

    def empty(self) -> None:
        """All of it is in the log."""
        for file in self.files:
            empty(file)


def empty(file: SpillFile) -> None:
    """What it holds is in the log; where it cannot be emptied now, that is found next time."""
    try:
        file.empty()
    except OSError as exc:
        logger.warning("%s could not be emptied (%s).", file.path, exc.strerror)


def joined(parts: list[SpilledPart]) -> list[Left]:
    """Parts of one spill as one where they meet or overlap: a spill may have changed its file."""
    found: list[Left] = []
    for part in sorted(parts, key=lambda part: (part.heading.spill, part.heading.first)):
        heading = part.heading
        last = found[-1] if found else None
        if last is None or last.spill != heading.spill or _end(last) < heading.first:
            found.append(Left(heading.spill, heading.first, heading.after, part.entries))
            continue
        more = part.entries[_end(last) - heading.first :]
        found[-1] = Left(last.spill, last.first, last.after, (*last.entries, *more))
    return found


def waiting_in(log: Path) -> tuple[Entry, ...]:
    """What waits in the spill files of a log, in order; reads only.

    Raises OSError where one cannot be read: it may hold anything.
    """
    parts = [part for file in Spill(log).files if (part := file.read()) is not None]
    return tuple(entry for left in joined(parts) for entry in left.entries)


def waiting_words(log: Path) -> list[str]:
    """A sentence for each spill file of the log that holds something; for whoever reads the log
    beside the daemon or without it."""
    words = []
    for file in Spill(log).files:
        part = _read(file)
        if part is not None and part.entries:
            cooks = ", ".join(sorted({entry.cook for entry in part.entries}))
            words.append(
                f"{len(part.entries)} entries of {cooks} wait in {file.path} for the disk to take "
                f"them: they are not in what follows. `pullcall serve` brings them in."
            )
    return words


def _end(left: Left) -> int:
    return left.first + len(left.entries)


def _read(file: SpillFile) -> SpilledPart | None:
    try:
        return file.read()
    except OSError as exc:
        logger.error("%s cannot be read (%s): what it holds waits there.", file.path, exc.strerror)
        return None
