"""What was worked out of cooks, kept beside their log and never in it: it can be made again."""

from __future__ import annotations

import hashlib
import os
import sys
import tempfile
from dataclasses import replace
from enum import StrEnum
from pathlib import Path

from pullcall.errors import LogError
from pullcall.hindsight.edition import edition
from pullcall.hindsight.facts import CookFacts
from pullcall.hindsight.kept import facts_json, facts_of
from pullcall.log.stand import Stand

_MAGIC = b"pullcall derived 3"
#: Where the edition stands in the first line: after the three words above and the count.
_EDITION = 4


class Kind(StrEnum):
    """What is kept of a cook."""

    FACTS = "facts"
    RECORDING = "recording"


class Shelf:
    """The folder of derived files beside a log.

    A file holds for a cook as it stood (notes left out: they change no facts) and for the very code
    it was made by. Whatever else lies there under its name, damaged, foreign or of another
    time, counts as missing and is replaced.
    """

    def __init__(self, log: Path) -> None:
        self.folder = log.with_name(f"{log.name}.derived")

    def check(self) -> None:
        """Raise LogError where nothing can be kept."""
        try:
            self.folder.mkdir(exist_ok=True)
            with tempfile.TemporaryFile(dir=self.folder):
                pass
        except OSError as exc:
            raise self._unusable(exc) from exc

    def find(
        self,
        cook: str,
        stand: Stand,
        kind: Kind | str,
        *,
        since: int = 0,
        any_edition: bool = False,
    ) -> bytes | None:
        """What is kept of a cook as it stands; None where it has to be made.

        What was made when up to ``since`` records fewer were there will do too, where nobody did
        anything since: a probe in the box goes on speaking. With ``any_edition`` so will what
        other code made of it.
        """
        try:
            head, _, content = self._path(cook, Kind(kind)).read_bytes().partition(b"\n")
        except OSError:
            return None
        newer = stand.count - _count(head)
        if not 0 <= newer <= min(since, stand.since):
            return None
        wanted = _head(replace(stand, count=stand.count - newer), content)
        if any_edition:
            head, wanted = _without_edition(head), _without_edition(wanted)
        return content if head == wanted else None

    def keep(self, cook: str, stand: Stand, kind: Kind | str, content: bytes) -> None:
        """Keep it, whole or not at all, in place of what was made before.

        Raises LogError where the folder cannot be written.
        """
        path = self._path(cook, Kind(kind))
        new = path.with_name(f"{path.name}.{os.getpid()}.new")
        try:
            self.folder.mkdir(exist_ok=True)
            new.write_bytes(_head(stand, content) + b"\n" + content)
            new.replace(path)
        except OSError as exc:
            raise self._unusable(exc) from exc

    def find_facts(
        self, cook: str, stand: Stand, *, since: int = 0, any_edition: bool = False
    ) -> CookFacts | None:
        """The facts kept of a cook; ``since`` and ``any_edition`` as :meth:`find`."""
        content = self.find(cook, stand, Kind.FACTS, since=since, any_edition=any_edition)
        return None if content is None else facts_of(content)

    def keep_facts(self, cook: str, stand: Stand, facts: CookFacts) -> None:
        """Keep facts; errors as :meth:`keep`."""
        self.keep(cook, stand, Kind.FACTS, facts_json(facts))

    def forget(self, cook: str) -> None:
        """The cook is deleted: nothing of it stays. Raises LogError where it cannot be."""
        try:
            for kind in Kind:
                path = self._path(cook, kind)
                for left in (path, *self.folder.glob(f"{path.name}.*.new")):
                    left.unlink(missing_ok=True)
        except NotADirectoryError:
            return  # whatever stands in the folder's place, nothing could be kept there
        except OSError as exc:
            raise LogError(
                f"The cook is deleted, but what was worked out of it cannot be, from "
                f"{self.folder} ({exc.strerror}): delete that folder."
            ) from exc

    def _unusable(self, exc: OSError) -> LogError:
        return LogError(
            f"What was worked out cannot be kept in {self.folder} ({exc.strerror}): check the "
            "disk and its permissions."
        )

    def _path(self, cook: str, kind: Kind) -> Path:
        """An id may be any text, a file's name may not."""
        name = hashlib.sha256(cook.encode(errors="surrogatepass")).hexdigest()[:32]
        return self.folder / f"{name}.{kind}"


def _head(stand: Stand, content: bytes) -> bytes:
    """The first line: of what it was made, by which code, and that nothing of it is missing."""
    header = hashlib.sha256(stand.header.encode(errors="surrogatepass")).hexdigest()
    parts = (str(stand.count), edition(), header, hashlib.sha256(content).hexdigest())
    return b" ".join((_MAGIC, *(part.encode() for part in parts)))


def _without_edition(head: bytes) -> bytes:
    return b" ".join(part for place, part in enumerate(head.split(b" ")) if place != _EDITION)


def _count(head: bytes) -> int:
    """Of how many records a file was made; more than any cook has where it is none of ours."""
    parts = head.removeprefix(_MAGIC).split()
    ours = head.startswith(_MAGIC) and len(parts) == 4 and parts[0].isdigit()
    return int(parts[0]) if ours and len(parts[0]) < 10 else sys.maxsize
