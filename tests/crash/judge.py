"""What has to hold after every kill: of the log, of what was confirmed, of who is paired."""

from __future__ import annotations

from copy import deepcopy
from dataclasses import dataclass
from pathlib import Path
from random import Random

from tests.crash import wal
from tests.crash.acknowledged import Acknowledged
from tests.crash.feed import Sent
from tests.crash.life import Life
from tests.crash.log_image import LogImage, copy_log, read_image
from tests.crash.person import People, kept_phones

#: Bytes at the end of the log in which it is torn.
_TAIL = 64 * 1024


@dataclass(frozen=True, slots=True)
class Scene:
    """Everything as it stood between a kill and the next start.

    ``copied`` is a copy of the log; ``phones`` those that the file of pairings knows.
    """

    life: Life
    copied: Path
    cook: str
    confirmed: Acknowledged
    promised: dict[str, bool]
    choices: dict[str, set[float | None]]
    phones: set[str]
    sent: tuple[Sent, ...]


def scene(life: Life, people: People, sent: list[Sent]) -> Scene:
    """Take everything down before the next life changes it."""
    place = life.place
    return Scene(
        life,
        copy_log(place.log, place.folder / "image"),
        people.cook,
        deepcopy(people.acknowledged),
        dict(people.phones),
        deepcopy(people.choices),
        kept_phones(place),
        tuple(sent),
    )


class Judge:
    """Holds every image of the log against the one before. ``torn`` counts torn copies opened,
    ``open_commits`` images whose last commit was not whole."""

    def __init__(self, rng: Random) -> None:
        self.torn = 0
        self.open_commits = 0
        self.image: LogImage | None = None
        self._rng = rng

    def findings(self, at: Scene) -> list[str]:
        """Everything that is wrong."""
        log = Path(f"{at.copied}-wal")
        content = log.read_bytes() if log.exists() else b""
        self.open_commits += wal.has_open_commit(content)
        found = self._torn(at.copied, content)
        image, before = read_image(at.copied), self.image
        self.image = image
        found += image.faults
        found += image.not_kept(before) if before is not None else []
        if image.open != (at.cook,):
            found.append(f"the open cooks are {image.open}, not {at.cook}")
        return [*found, *cook_findings(image, at), *_around(image, at), *_not_resumed(at)]

    def _torn(self, copied: Path, content: bytes) -> list[str]:
        """A copy whose log is torn holds exactly the commits before the tear."""
        if not wal.frames(content):
            return []
        one = copy_log(copied, copied.parent / "torn")
        if self._rng.random() < 0.5:
            at = wal.zero_last_page(Path(f"{one}-wal"))
        else:
            at = self._rng.randrange(max(0, len(content) - _TAIL), len(content))
            wal.tear(Path(f"{one}-wal"), at)
        exact = copy_log(copied, copied.parent / "exact")
        wal.tear(Path(f"{exact}-wal"), wal.last_commit(content[:at]))
        self.torn += 1
        torn, whole = read_image(one), read_image(exact)
        if torn == whole and not torn.faults:
            return []
        return [f"lost: a log torn at {at} of {len(content)} bytes misses commits, or is damaged"]


def cook_findings(image: LogImage, at: Scene) -> list[str]:
    """What is wrong with the cook's own records and calls."""
    cook, kept = at.cook, at.confirmed
    if cook not in image.lines:
        return [f"lost: the whole cook {cook}"]
    return [
        *image.broken(cook),
        *kept.missing(image.lines[cook][1:]),
        *kept.unlogged_calls(image.calls[cook]),
        *image.invented(cook, at.sent),
    ]


def _around(image: LogImage, at: Scene) -> list[str]:
    """Phones that should be paired and are not, or the other way; choices that are gone."""
    phones = [
        f"lost: phone {id} should be {'paired' if is_paired else 'gone'}"
        for id, is_paired in at.promised.items()
        if (id in at.phones) != is_paired
    ]
    choices = [
        f"lost: the choice {name} is {image.choices.get(name)}, not {allowed}"
        for name, allowed in at.choices.items()
        if len(allowed) == 1 and image.choices.get(name) not in allowed
    ]
    return phones + choices


def _not_resumed(at: Scene) -> list[str]:
    """Whether the page began from another cook than the one that runs."""
    snapshot = at.life.snapshot()
    if snapshot is None or snapshot["cook"]["id"] == at.cook:
        return []
    return [f"it went on with {snapshot['cook']['id']} instead of {at.cook}"]


def changed_wrongly(image: LogImage, old: str, begun: str | None) -> list[str]:
    """A change of cooks is whole or did not happen; an answer means that it did."""
    if image.open == (old,) and begun is None:
        return []
    is_new = len(image.open) == 1 and image.open != (old,) and len(image.lines) > 1
    if is_new and begun in (None, *image.open):
        return []
    return [f"a change of cooks was killed: {image.open} are open, {begun} was answered"]
