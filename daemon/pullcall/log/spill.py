"""Where inputs and calls wait, safe from a crash, while the log cannot take them."""

from __future__ import annotations

import logging
import os
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from hashlib import sha256
from itertools import chain
from pathlib import Path
from typing import TypeVar

from pullcall.errors import LogFormatError
from pullcall.log.entries import Entry, Place, Spilled
from pullcall.log.spill_file import SpillFile, set_aside_before
from pullcall.log.spill_lines import SpilledPart

logger = logging.getLogger(__name__)
T = TypeVar("T")


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
        self.unread: list[str] = []
        self._aside: list[SpillFile] = []

    @property
    def files(self) -> tuple[SpillFile, ...]:
        """Those that there are."""
        return (self.disk,) if self.memory is None else (self.disk, self.memory)

    def left(self) -> list[Left]:
        """What earlier runs left, in order. A file that cannot be read is set aside, and looked at
        again at every start; ``unread`` says so."""
        self._aside = list(self.set_aside_before())
        parts = [self._taken_up(file) for file in self._aside]
        parts += [self._taken_up(file, sets_aside=True) for file in self.files]
        return joined([part for part in parts if part is not None])

    def set_aside_before(self) -> Iterator[SpillFile]:
        """Files that could not be read at an earlier start."""
        return chain.from_iterable(set_aside_before(file.path) for file in self.files)

    def reserve(self) -> None:
        """Make room on the log's disk; without it a full disk leaves only memory."""
        try:
            self.disk.reserve()
        except OSError as exc:
            logger.warning("No room could be kept for a full disk (%s).", exc.strerror)

    def drop_aside(self) -> None:
        """What was read of files set aside is in the log: they go; the others stay."""
        for file in self._aside:
            empty(file)
            file.close()
        self._aside.clear()

    def _taken_up(self, file: SpillFile, *, sets_aside: bool = False) -> SpilledPart | None:
        try:
            return _at_second_try(file.take_up)
        except (OSError, LogFormatError) as exc:
            why = _why(exc)
        stays = file.path
        if sets_aside:
            with suppress(OSError):
                stays = file.set_aside()
        self.unread.append(
            f"Something entered earlier may be missing: {file.path.name} cannot be read ({why}). "
            f"It is kept as {stays} and looked at again at the next start."
        )
        logger.error(self.unread[-1])
        return None


def _at_second_try(read: Callable[[], T]) -> T:
    """A disk that could not be read is asked once more."""
    with suppress(OSError):
        return read()
    return read()


def empty(file: SpillFile) -> None:
    """What it holds is in the log; where it cannot be emptied now, that is found next time."""
    try:
        file.empty()
    except OSError as exc:
        logger.warning("%s could not be emptied (%s).", file.path, exc.strerror)


def joined(parts: list[SpilledPart]) -> list[Left]:
    """Parts of one spill as one where they meet or overlap: a spill may have changed its file. In
    the order in which they have to be logged."""
    found: list[Left] = []
    for part in sorted(parts, key=lambda part: (part.heading.spill, part.heading.first)):
        heading = part.heading
        last = found[-1] if found else None
        if last is None or last.spill != heading.spill or _end(last) < heading.first:
            found.append(Left(heading.spill, heading.first, heading.after, part.entries))
            continue
        more = part.entries[_end(last) - heading.first :]
        found[-1] = Left(last.spill, last.first, last.after, (*last.entries, *more))
    return sorted(found, key=_age)


def _age(left: Left) -> tuple[int, int, float]:
    """How far the log had come; where two runs could not write a line, when they began to wait."""
    times = (entry.what.t for entry in left.entries if isinstance(entry.what, Spilled))
    return left.after.record, left.after.call, next(times, 0.0)


def waiting_in(log: Path) -> tuple[Entry, ...]:
    """What waits in the spill files of a log, in order; reads only.

    Raises OSError or LogFormatError where one cannot be read: it may hold anything. Those that
    were set aside at an earlier start are passed over then.
    """
    spill = Spill(log)
    parts = [part for file in spill.files if (part := file.read()) is not None]
    for file in spill.set_aside_before():
        with suppress(OSError, LogFormatError):
            if (part := file.read()) is not None:
                parts.append(part)
    return tuple(entry for left in joined(parts) for entry in left.entries)


def waiting_words(log: Path) -> list[str]:
    """A sentence for each spill file of the log that holds something; for whoever reads the log
    beside the daemon or without it."""
    spill = Spill(log)
    files = (*spill.files, *spill.set_aside_before())
    return [words for file in files if (words := _waiting_words(file))]


def _waiting_words(file: SpillFile) -> str | None:
    try:
        part = file.read()
    except (OSError, LogFormatError) as exc:
        return f"{file.path} cannot be read ({_why(exc)}): what it holds is not in what follows."
    if part is None or not part.entries:
        return None
    cooks = ", ".join(sorted({entry.cook for entry in part.entries}))
    return (
        f"{len(part.entries)} entries of {cooks} wait in {file.path} for the disk to take them: "
        f"they are not in what follows. `pullcall serve` brings them in."
    )


def _end(left: Left) -> int:
    return left.first + len(left.entries)


def _why(exc: OSError | LogFormatError) -> str:
    return exc.strerror or str(exc) if isinstance(exc, OSError) else str(exc)
