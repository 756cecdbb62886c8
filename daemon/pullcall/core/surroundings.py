"""What a cook's steaks share: the settings as they stand, the fire, and the morning's marks."""

from __future__ import annotations

from contextlib import suppress
from copy import deepcopy

from pullcall.core.setup import changed_setup
from pullcall.errors import RefusedError
from pullcall.events import MORNING_MARKS, CookHeader, Mark, MarkKind, Reading, Setting, Spot
from pullcall.fire.fire import Fire


class Surroundings:
    """Follows the inputs that concern no single steak, in time order."""

    def __init__(self, header: CookHeader) -> None:
        self.setup = header
        self.fire = Fire(header.fire)
        self.morning: dict[MarkKind, float] = {}

    def copy(self) -> Surroundings:
        """One that goes its own way from here."""
        other = Surroundings(self.setup)
        other.fire, other.morning = deepcopy(self.fire), dict(self.morning)
        return other

    def read(self, reading: Reading) -> None:
        """Take a reading that belongs to no steak: the grate's, or nobody's."""
        if reading.channel is not None and reading.channel == self.setup.fire.channel:
            self.fire.read(reading.t, reading.celsius)

    def check(self, spot: Spot) -> None:
        """Take an infrared check of the grate."""
        self.fire.spot(spot.t, spot.celsius)

    def set(self, setting: Setting) -> None:
        """Take a setting of the cook; one in a log that no cook has any more changes nothing."""
        with suppress(RefusedError):
            self.setup = changed_setup(self.setup, setting)
        self.fire.set(self.setup.fire)

    def mark(self, mark: Mark) -> None:
        """Take a mark of the grill or of the morning."""
        if mark.mark in MORNING_MARKS:
            self.morning[mark.mark] = mark.happened
        else:
            self.fire.lid(mark.happened, mark.mark is MarkKind.LID_OPEN)
