"""Places for files under way, beside the log: what is sent, and backups that are fetched."""

from __future__ import annotations

import glob
import shutil
import tempfile
from pathlib import Path


class Scratch:
    """Folders that nobody else reads. Whoever alone writes ``log`` has them alone too."""

    def __init__(self, log: Path) -> None:
        self.folder = log.absolute().parent
        self._prefix = f".{log.name}.under-way-"

    def make(self) -> Path:
        """A new folder, which the caller removes with :meth:`remove`. Raises OSError."""
        return Path(tempfile.mkdtemp(dir=self.folder, prefix=self._prefix))

    def remove(self, made: Path) -> None:
        """Leave nothing of a folder made here."""
        shutil.rmtree(made, ignore_errors=True)

    def clear(self) -> None:
        """Remove what an earlier run left as it was stopped."""
        for left in self.folder.glob(f"{glob.escape(self._prefix)}*"):
            if left.is_dir() and not left.is_symlink():
                self.remove(left)
