"""Works cooks out from a log or a cook file, and keeps what was found beside the log."""

from __future__ import annotations

import contextlib
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from pullcall.clock import RealClock
from pullcall.errors import LogError
from pullcall.hindsight.facts import CookFacts
from pullcall.hindsight.progress import Progress
from pullcall.hindsight.shelf import Kind, Shelf
from pullcall.hindsight.study import study
from pullcall.log.cook_file import CookFile, parse_cook_lines
from pullcall.log.stand import Stand
from pullcall.log.store import Store
from pullcall.log.workable import worked_out
from pullcall.site.recording import Recorder

#: Is told the percent that is done.
Tell = Callable[[int], None]
_SQLITE = b"SQLite format 3\0"


@dataclass(frozen=True, slots=True)
class Source:
    """A cook as it lies in its log: how it stands, and the announcements logged with it."""

    recorded: CookFile
    stand: Stand
    calls: tuple[str, ...] = ()

    @property
    def cook(self) -> str:
        """The cook's id."""
        return self.recorded.header.cook


def read_source(log: Path, cook: str) -> Source:
    """A cook of a log, or of a cook file. Raises LogError where it cannot be read."""
    if not log.exists():
        raise LogError(f"There is no cook log at {log}: check the path.")
    if not _is_log(log):
        return _source_of_file(log)
    with Store(log, reads_only=True) as store:
        stand = store.stand(cook)  # before its lines: what comes meanwhile is worked out next time
        return Source(store.cook(cook), stand, tuple(store.call_lines(cook)))


def work_out(source: Source, tell: Tell) -> tuple[CookFacts, bytes]:
    """The facts and the recording of a cook, in one pass. Raises UnworkableError."""

    def work(recorded: CookFile) -> tuple[CookFacts, bytes]:
        recorder, progress = Recorder(), Progress(recorded, RealClock(), tell)
        facts = study(recorded, source.calls, follow=(recorder, progress))
        return facts, recorder.gzipped(facts)

    return worked_out(source.recorded, work)[0]


def put_on_shelf(log: Path, cook: str, tell: Tell) -> CookFacts:
    """Have a cook's facts and recording on the shelf; what is there is not made again.

    Raises LogError where the cook cannot be read or the shelf cannot be written.
    """
    source, shelf = read_source(log, cook), Shelf(log)
    facts = shelf.find_facts(source.cook, source.stand)
    if facts is not None and shelf.find(source.cook, source.stand, Kind.RECORDING) is not None:
        return facts
    facts, recording = work_out(source, tell)
    shelf.keep(source.cook, source.stand, Kind.RECORDING, recording)
    shelf.keep_facts(source.cook, source.stand, facts)
    return facts


def facts_of(log: Path, cook: str) -> CookFacts:
    """The facts of a logged cook, from the shelf or worked out here, with a line on a terminal.

    Raises LogError where the cook cannot be read; a shelf that cannot be written is done without.
    """
    source, shelf = read_source(log, cook), Shelf(log)
    found = shelf.find_facts(source.cook, source.stand)
    return _made(source, shelf)[0] if found is None else found


def recording_of(log: Path, cook: str) -> tuple[Source, bytes]:
    """A logged cook and its recording, from the shelf or worked out here, as :func:`facts_of`."""
    source, shelf = read_source(log, cook), Shelf(log)
    found = shelf.find(source.cook, source.stand, Kind.RECORDING)
    return source, _made(source, shelf)[1] if found is None else found


def recording_of_file(path: Path) -> tuple[Source, bytes]:
    """A cook file and its recording, worked out here: nothing is left beside a file of yours."""
    source = _source_of_file(path)
    with _progress_line(source.cook) as tell:
        return source, work_out(source, tell)[1]


def facts_of_file(path: Path) -> CookFacts:
    """The facts of a cook file, worked out here: nothing is left beside a file of yours."""
    source = _source_of_file(path)
    with _progress_line(source.cook) as tell:

        def work(recorded: CookFile) -> CookFacts:
            return study(recorded, follow=[Progress(recorded, RealClock(), tell)])

        return worked_out(source.recorded, work)[0]


def _made(source: Source, shelf: Shelf) -> tuple[CookFacts, bytes]:
    """Worked out here and kept, if it can be."""
    with _progress_line(source.cook) as tell:
        facts, recording = work_out(source, tell)
    with contextlib.suppress(LogError):
        shelf.keep(source.cook, source.stand, Kind.RECORDING, recording)
        shelf.keep_facts(source.cook, source.stand, facts)
    return facts, recording


def _is_log(path: Path) -> bool:
    with path.open("rb") as file:
        return file.read(len(_SQLITE)) == _SQLITE


def _source_of_file(path: Path) -> Source:
    try:
        text = path.read_text(encoding="utf-8", errors="replace")
    except OSError as exc:
        raise LogError(f"Cannot read {path}: {exc.strerror}. Check the path.") from exc
    lines = text.split("\n")
    return Source(parse_cook_lines(lines), Stand(text, len(lines)))


@contextmanager
def _progress_line(cook: str) -> Iterator[Tell]:
    """A line on a terminal that counts up and goes away; nothing elsewhere."""
    if not sys.stderr.isatty():
        yield lambda _: None
        return

    def tell(percent: int) -> None:
        print(f"\rWorking {cook} out: {percent} %", end="", file=sys.stderr, flush=True)

    try:
        yield tell
    finally:
        print("\r\033[K", end="", file=sys.stderr, flush=True)
