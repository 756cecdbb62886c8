"""What was worked out of cooks, kept beside their log and never in it: it can be made again."""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Iterable
from enum import StrEnum
from pathlib import Path

from pullcall.errors import LogError
from pullcall.hindsight.edition import edition
from pullcall.hindsight.facts import CookFacts
from pullcall.hindsight.kept import facts_json, facts_of

_MAGIC = b"pullcall derived 1"


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

    def find(self, cook: str, lines: Iterable[str], kind: Kind | str) -> bytes | None:
        """What is kept of a cook's ``lines`` as they stand; None where it has to be made."""
        try:
            head, _, content = self._path(cook, Kind(kind)).read_bytes().partition(b"\n")
        except OSError:
            return None
        return content if head == _head(_key(lines), content) else None

    def keep(self, cook: str, lines: Iterable[str], kind: Kind | str, content: bytes) -> None:
        """Keep it, whole or not at all, in place of what was made before.

        Raises LogError where the folder cannot be written.
        """
        path = self._path(cook, Kind(kind))
        new = path.with_name(f"{path.name}.{os.getpid()}.new")
        try:
            self.folder.mkdir(exist_ok=True)
            new.write_bytes(_head(_key(lines), content) + b"\n" + content)
            new.replace(path)
        except OSError as exc:
            raise LogError(
                f"What was worked out cannot be kept in {self.folder} ({exc.strerror}): check the "
                "disk and its permissions."
            ) from exc

    def find_facts(self, cook: str, lines: Iterable[str]) -> CookFacts | None:
        """The facts kept of a cook's lines."""
        content = self.find(cook, lines, Kind.FACTS)
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


def _head(key: str, content: bytes) -> bytes:
    """The first line: for what it holds, and that nothing of it is missing."""
    return b" ".join((_MAGIC, key.encode(), hashlib.sha256(content).hexdigest().encode()))


def _key(lines: Iterable[str]) -> str:
    digest = hashlib.sha256(edition().encode())
    for line in lines:
        if not _is_note(line):
            digest.update(line.encode(errors="surrogatepass") + b"\n")
    return digest.hexdigest()


def _is_note(line: str) -> bool:
    if '"note"' not in line:
        return False
    try:
        record = json.loads(line)
    except ValueError:
        return False
    return isinstance(record, dict) and record.get("record") == "note"
