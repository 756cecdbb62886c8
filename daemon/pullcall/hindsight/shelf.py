"""What was worked out of cooks, kept beside their log and never in it: it can be made again."""

from __future__ import annotations

import hashlib
import json
import os
import sys
from collections.abc import Iterable, Sequence
from enum import StrEnum
from pathlib import Path

from pullcall.errors import LogError
from pullcall.hindsight.edition import edition
from pullcall.hindsight.facts import CookFacts
from pullcall.hindsight.kept import facts_json, facts_of

_MAGIC = b"pullcall derived 2"


class Kind(StrEnum):
    """What is kept of a cook."""

    FACTS = "facts"
    RECORDING = "recording"


class Shelf:
    """The folder of derived files beside a log.

    A file holds for the very lines of a cook and the very code it was made from (notes left out:
    they change no facts). Whatever else lies there under its name, damaged, foreign or of another
    time, counts as missing and is replaced.
    """

    def __init__(self, log: Path) -> None:
        self.folder = log.with_name(f"{log.name}.derived")

    def find(
        self, cook: str, lines: Iterable[str], kind: Kind | str, *, since: int = 0
    ) -> bytes | None:
        """What is kept of a cook's ``lines`` as they stand; None where it has to be made.

        What was made when up to ``since`` lines fewer were there will do too, where nothing but
        readings came since: a probe in the box goes on speaking.
        """
        try:
            head, _, content = self._path(cook, Kind(kind)).read_bytes().partition(b"\n")
        except OSError:
            return None
        told = [line for line in lines if not _is(line, "note")]
        count = _count(head)
        if not 0 <= len(told) - count <= since:
            return None
        if not all(_is(line, "reading") for line in told[count:]):
            return None
        return content if head == _head(told[:count], content) else None

    def keep(self, cook: str, lines: Iterable[str], kind: Kind | str, content: bytes) -> None:
        """Keep it, whole or not at all, in place of what was made before.

        Raises LogError where the folder cannot be written.
        """
        path = self._path(cook, Kind(kind))
        new = path.with_name(f"{path.name}.{os.getpid()}.new")
        try:
            self.folder.mkdir(exist_ok=True)
            told = [line for line in lines if not _is(line, "note")]
            new.write_bytes(_head(told, content) + b"\n" + content)
            new.replace(path)
        except OSError as exc:
            raise LogError(
                f"What was worked out cannot be kept in {self.folder} ({exc.strerror}): check the "
                "disk and its permissions."
            ) from exc

    def find_facts(self, cook: str, lines: Iterable[str], *, since: int = 0) -> CookFacts | None:
        """The facts kept of a cook's lines; ``since`` as :meth:`find`."""
        content = self.find(cook, lines, Kind.FACTS, since=since)
        return None if content is None else facts_of(content)

    def keep_facts(self, cook: str, lines: Iterable[str], facts: CookFacts) -> None:
        """Keep facts; errors as :meth:`keep`."""
        self.keep(cook, lines, Kind.FACTS, facts_json(facts))

    def forget(self, cook: str) -> None:
        """The cook is deleted: nothing of it stays. Raises LogError where it cannot be."""
        try:
            for kind in Kind:
                path = self._path(cook, kind)
                for left in (path, *self.folder.glob(f"{path.name}.*.new")):
                    left.unlink(missing_ok=True)
        except OSError as exc:
            raise LogError(
                f"What was worked out of the cook cannot be deleted from {self.folder} "
                f"({exc.strerror}): delete that folder."
            ) from exc

    def _path(self, cook: str, kind: Kind) -> Path:
        """An id may be any text, a file's name may not."""
        name = hashlib.sha256(cook.encode(errors="surrogatepass")).hexdigest()[:32]
        return self.folder / f"{name}.{kind}"


def _head(lines: Sequence[str], content: bytes) -> bytes:
    """The first line: for which lines it holds, and that nothing of it is missing."""
    digest = hashlib.sha256(edition().encode())
    for line in lines:
        digest.update(line.encode(errors="surrogatepass") + b"\n")
    parts = (str(len(lines)), digest.hexdigest(), hashlib.sha256(content).hexdigest())
    return b" ".join((_MAGIC, *(part.encode() for part in parts)))


def _count(head: bytes) -> int:
    """Of how many lines a file was made; more than any cook has where it is none of ours."""
    parts = head.removeprefix(_MAGIC).split()
    ours = head.startswith(_MAGIC) and len(parts) == 3 and parts[0].isdigit()
    return int(parts[0]) if ours and len(parts[0]) < 10 else sys.maxsize


def _is(line: str, kind: str) -> bool:
    """Whether a line is a record of this kind."""
    if f'"{kind}"' not in line:
        return False
    try:
        record = json.loads(line)
    except ValueError:
        return False
    return isinstance(record, dict) and record.get("record") == kind
