"""The pen that keeps the file of pairings off the event loop."""

from __future__ import annotations

import threading
from datetime import datetime
from pathlib import Path

from pullcall.access.paired_file import PairedFile
from pullcall.access.pairings_pen import PairingsPen
from pullcall.access.records import Kept, Sight
from pullcall.access.role import Role
from tests.access.registers import NOON, fixed


class CountedFile(PairedFile):
    """A file that counts how often it is saved."""

    saves = 0

    def save(self, kept: Kept, now: float, wall: datetime) -> None:
        self.saves += 1
        super().save(kept, now, wall)


async def test_what_a_crowd_changes_is_saved_together_and_the_newest_is_on_disk(
    tmp_path: Path,
) -> None:
    file, go = CountedFile(tmp_path / "paired.json"), threading.Event()
    pen, register = PairingsPen(file, rest=go.wait), fixed()
    pen.load(0.0, NOON)
    pen.save(register.kept(0.0), 0.0, NOON)
    await pen.until_saved(60.0)  # whoever comes alone waits for no rest
    assert file.saves == 1
    for _ in range(40):
        register.invite(Role.WATCHER, "", None, Sight(), 0.0)
        pen.save(register.kept(0.0), 0.0, NOON)
    go.set()
    await pen.until_saved(60.0)
    assert file.saves == 2
    assert len(file.load(0.0, NOON).invitations) == 40


async def test_a_change_after_a_rest_is_saved_at_once(tmp_path: Path) -> None:
    file = CountedFile(tmp_path / "paired.json")
    pen, register = PairingsPen(file, rest=lambda: None), fixed()
    pen.load(0.0, NOON)
    for _ in range(3):
        pen.save(register.kept(0.0), 0.0, NOON)
        await pen.until_saved(60.0)
    assert file.saves == 3
