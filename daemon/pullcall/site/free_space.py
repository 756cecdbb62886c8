"""How much room the log's disk has, asked beside the loop: one that hangs answers late."""

from __future__ import annotations

import shutil
from pathlib import Path
from threading import Thread

#: Less free space than this is trouble to come, bytes: a long day's log takes a tenth of it.
LEAST_FREE = 200 * 1024 * 1024


class FreeSpace:
    """``look`` is the thread that asks now or asked last; it holds up no end of the process."""

    def __init__(self, folder: Path) -> None:
        self.look: Thread | None = None
        self._folder = folder
        self._is_low = False

    def is_low(self) -> bool:
        """What the last look found; begins another, unless that one waits for an answer still."""
        if self.look is None or not self.look.is_alive():
            self.look = Thread(target=self._ask, name="free space", daemon=True)
            self.look.start()
        return self._is_low

    def _ask(self) -> None:
        try:
            self._is_low = shutil.disk_usage(self._folder).free < LEAST_FREE
        except OSError:
            self._is_low = False
